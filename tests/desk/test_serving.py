"""Who is let in: a process on this machine that knows the token, and nobody else."""

import contextlib
import http.client
import socket
import sys
import urllib.parse
from collections.abc import Iterator
from pathlib import Path

import pytest
from support.pages import Page, interrupted, served

from moistsim.__main__ import main

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with served(tmp_path_factory.mktemp("desk"), "desk") as page:
        yield page


def asked(page: Page, path: str, **headers: str) -> tuple[int, dict[str, str], str]:
    """Status, headers and text of an answer; redirections are not followed."""
    with contextlib.closing(
        http.client.HTTPConnection("127.0.0.1", page.port, timeout=30)
    ) as connection:
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        return answer.status, dict(answer.getheaders()), answer.read().decode()


@pytest.mark.parametrize(
    "path", ["/", "/desk.js", "/socket", "/?token=", "/?token=wrong", "/?token=%00%ff"]
)
def test_without_the_token_nothing_is_shown(desk: Page, path: str) -> None:
    status, _, text = asked(desk, path)
    assert status in (400, 403)
    assert "slider" not in text and "moved" not in text


def test_the_token_opens_and_leaves_the_address(desk: Page) -> None:
    query = urllib.parse.urlsplit(desk.address).query
    status, headers, _ = asked(desk, f"/?{query}")
    assert (status, headers["Location"]) == (302, "/")
    assert "HttpOnly" in headers["Set-Cookie"] and "SameSite=Strict" in headers["Set-Cookie"]
    cookie = headers["Set-Cookie"].partition(";")[0]
    status, headers, text = asked(desk, "/", Cookie=cookie)
    assert status == 200 and "The answer" in text
    assert "default-src 'self'" in headers["Content-Security-Policy"]
    # A page elsewhere, whose name leads to this machine, is refused with any cookie.
    assert asked(desk, "/", Cookie=cookie, Host="elsewhere.example")[0] == 403
    assert asked(desk, "/", Cookie=cookie[:-1] + "x")[0] == 403


def test_a_page_elsewhere_cannot_open_the_connection(desk: Page) -> None:
    _, headers, _ = asked(desk, f"/?{urllib.parse.urlsplit(desk.address).query}")
    how = {
        "Cookie": headers["Set-Cookie"].partition(";")[0], "Connection": "Upgrade", "Upgrade": "websocket",
        "Sec-WebSocket-Version": "13", "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",
    }  # fmt: skip
    assert asked(desk, "/socket", **how, Origin="http://elsewhere.example")[0] == 403
    assert asked(desk, "/socket", **{**how, "Cookie": ""}, Origin=desk.plain.rstrip("/"))[0] == 403


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads Linux's table of sockets")
def test_only_this_machine_is_listened_to(desk: Page) -> None:
    listening = set()
    for table in ("/proc/net/tcp", "/proc/net/tcp6"):
        for line in Path(table).read_text().splitlines()[1:] if Path(table).exists() else ():
            local, _, state = line.split()[1:4]
            address, port = local.split(":")
            if int(port, 16) == desk.port and state == "0A":
                listening.add(address)
    assert listening == {"0100007F"}  # 127.0.0.1, and no other
    # A server that listens at all addresses would answer here as well.
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.2", desk.port), timeout=5)


@pytest.mark.skipif(sys.platform == "win32", reason="sends signals")
def test_ctrl_c_ends_in_one_line(tmp_path: Path) -> None:
    with served(tmp_path, "desk") as page:
        assert asked(page, "/")[0] == 403
        code, err, took = interrupted(page)
    assert code == 130
    assert err.strip() == "moistsim: stopped; the page has ended."
    assert took < 20.0
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", page.port), timeout=5)


def test_a_port_that_is_taken_is_a_sentence(desk: Page, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["desk", "--no-browser", "--port", str(desk.port)]) == 2
    assert f"port {desk.port}" in capsys.readouterr().err
    assert main(["desk", "--no-browser", "--port", "70000"]) == 2
    assert "from 0 to 65535" in capsys.readouterr().err
