"""A server on this machine that answers as a public web service does, broken answers included."""

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

Reply = Callable[[BaseHTTPRequestHandler], None]


def says(status: int, body: object) -> Reply:
    """A reply with this body: text as it is, anything else as JSON."""
    content = (body if isinstance(body, str) else json.dumps(body)).encode()

    def reply(handler: BaseHTTPRequestHandler) -> None:
        handler.send_response(status)
        handler.send_header("Content-Length", str(len(content)))
        handler.end_headers()
        handler.wfile.write(content)

    return reply


@contextmanager
def served(reply: Reply) -> Iterator[tuple[str, list[str]]]:
    """A server on this machine alone: its address, and the paths that it was asked for."""
    asked: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            reply(self)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/api/", asked
    finally:
        server.shutdown()
        server.server_close()
