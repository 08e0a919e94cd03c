"""A page on this machine alone: bound to the loopback address, and opened with a token.

The token is in the address that the command prints. It becomes a cookie, so it does not stay in the
browser's address line, which a class can read on the projector.
"""

import asyncio
import hmac
import secrets
import socket
import webbrowser
from collections.abc import Callable, Mapping, Sequence
from importlib.resources import files
from typing import Any

from tornado.httpserver import HTTPServer
from tornado.web import Application, RequestHandler

ADDRESS = "127.0.0.1"
"""The only address that is listened at: no other machine reaches it."""

Rules = Sequence[tuple[str, Any, dict[str, Any]]]


class Guard:
    """The token of a server, and tickets that open it once.

    A ticket stands in the address with which the browser is started, because other users of a machine
    can read the arguments of programs. It is worth nothing afterward.
    """

    def __init__(self) -> None:
        self.token = secrets.token_urlsafe(24)
        self._tickets: set[str] = set()
        self.port = 0

    def ticket(self) -> str:
        """A word that opens the page once."""
        made = secrets.token_urlsafe(24)
        self._tickets.add(made)
        return made

    def admits(self, word: str) -> bool:
        """Whether a word is the token or an unused ticket."""
        if word in self._tickets:
            self._tickets.remove(word)
            return True
        return self.knows(word)

    def knows(self, word: str) -> bool:
        """Whether a word is the token."""
        return hmac.compare_digest(word.encode(), self.token.encode())

    @property
    def cookie(self) -> str:
        """Name of the cookie; cookies do not tell ports apart."""
        return f"moistsim-{self.port}"

    @property
    def hosts(self) -> tuple[str, ...]:
        """Names by which a browser on this machine may ask: a page elsewhere cannot borrow another one."""
        return tuple(f"{name}:{self.port}" for name in (ADDRESS, "localhost"))


class Guarded(RequestHandler):
    """A handler that answers nobody without the token."""

    def initialize(self, guard: Guard, **others: Any) -> None:
        self.guard = guard
        for name, value in others.items():
            setattr(self, name, value)

    def set_default_headers(self) -> None:
        self.set_header("Cache-Control", "no-store")
        self.set_header("Referrer-Policy", "no-referrer")
        self.set_header("X-Content-Type-Options", "nosniff")
        self.set_header("X-Frame-Options", "DENY")
        self.clear_header("Server")

    def prepare(self) -> None:
        if self.request.host not in self.guard.hosts:
            self._refuse()
            return
        word = self.get_query_argument("token", None)
        if word is not None and self.guard.admits(word):
            self.set_cookie(
                self.guard.cookie, self.guard.token, httponly=True, samesite="Strict", path="/"
            )
            self.redirect(self.request.path)
            return
        if word is not None or not self.guard.knows(self.get_cookie(self.guard.cookie) or ""):
            self._refuse()

    def _refuse(self) -> None:
        self.set_status(403)
        self.finish(
            "This page opens only with the address that the command printed, on this machine.\n"
        )


class Content(Guarded):
    """One file of the page."""

    content: str
    kind: str
    policy: str

    def get(self) -> None:
        self.set_header("Content-Type", f"{self.kind}; charset=utf-8")
        self.set_header("Content-Security-Policy", self.policy)
        self.finish(self.content)


STRICT = (
    "default-src 'self'; img-src 'self' data:; connect-src 'self' ws:; frame-ancestors 'none'; "
    "base-uri 'none'; form-action 'self'"
)
"""What the page may load: its own files, and pictures that are part of it."""


def part_of_page(name: str) -> str:
    """The text of a file of the page."""
    return files("moistsim.desk").joinpath(name).read_text(encoding="utf-8")


def serve(
    rules: Callable[[Guard], Rules],
    *,
    port: int,
    opens: bool,
    started: Callable[[str], None],
) -> None:
    """Serve a page until the process is interrupted.

    Parameters
    ----------
    rules : callable
        Returns the handlers of the page, each with path and arguments, for a guard.
    port : int
        The port, or 0 for any that is free.
    opens : bool
        Whether to open the page in the user's browser.
    started : callable
        Takes the address of the page, with its token.

    Raises
    ------
    OSError
        If the port is taken.
    KeyboardInterrupt
        After Ctrl-C, when the server has closed.
    """
    asyncio.run(_served(Guard(), rules, port, opens, started))


async def _served(
    guard: Guard,
    rules: Callable[[Guard], Rules],
    port: int,
    opens: bool,
    started: Callable[[str], None],
) -> None:
    listening = socket.create_server((ADDRESS, port))
    listening.setblocking(False)
    guard.port = listening.getsockname()[1]
    # A house file may be sent; larger ones are no houses.
    server = HTTPServer(
        Application(
            list(rules(guard)),
            websocket_max_message_size=5_000_000,
            # An address may hold the token, which belongs in no log.
            log_function=lambda _: None,
        ),
        max_buffer_size=6_000_000,
    )
    server.add_sockets([listening])
    page = f"http://{ADDRESS}:{guard.port}/"
    started(f"{page}?token={guard.token}")
    if opens:
        # Some browsers keep the caller waiting until they end.
        await asyncio.to_thread(webbrowser.open, f"{page}?token={guard.ticket()}")
    try:
        await asyncio.Event().wait()
    finally:
        server.stop()


def content_of(
    guard: Guard, parts: Mapping[str, tuple[str, str]], policy: str = STRICT
) -> list[tuple[str, Any, dict[str, Any]]]:
    """Handlers of a page's files.

    Parameters
    ----------
    guard : Guard
    parts : dict
        By path: the text, and its media type.
    policy : str
        What the page may load, a content security policy.
    """
    return [
        (path, Content, {"guard": guard, "content": content, "kind": kind, "policy": policy})
        for path, (content, kind) in parts.items()
    ]
