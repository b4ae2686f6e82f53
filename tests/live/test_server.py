"""The page's server: this machine alone, a table of paths, nothing from elsewhere."""

from __future__ import annotations

import http.client
import json
import socket
from typing import Any

import pytest

from fab.live import server
from fab.live.board import Board
from fab.live.server import Server, Site
from tests.live.conftest import Watched, job_text


def asked(
    address: str, method: str, path: str, headers: dict[str, str], body: bytes | None = None
) -> tuple[int, dict[str, str], bytes]:
    """A request with exactly these headers."""
    host, port = address.removeprefix("http://").rstrip("/").split(":")
    connection = http.client.HTTPConnection(host, int(port), timeout=10)
    connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    for name, value in headers.items():
        connection.putheader(name, value)
    if body is not None:
        connection.putheader("Content-Length", str(len(body)))
    connection.endheaders(body)
    answer = connection.getresponse()
    endless = answer.getheader("Content-Type") == "text/event-stream"
    found = answer.status, dict(answer.getheaders()), b"" if endless else answer.read()
    connection.close()
    return found


def own(address: str) -> str:
    return address.removeprefix("http://").rstrip("/")


def place(address: str) -> tuple[str, int]:
    """Host and port."""
    host, port = own(address).split(":")
    return host, int(port)


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:1", "0.0.0.0:{port}", ""],
)
@pytest.mark.parametrize("path", ["/", "/live.js", "/state.json", "/events"])
def test_another_name_is_refused(watched: Watched, host: str, path: str) -> None:
    """DNS rebinding: a name that was turned to this machine is not the name that was printed."""
    port = own(watched.address).partition(":")[2]
    status, _, body = asked(watched.address, "GET", path, {"Host": host.format(port=port)})
    assert status == 403
    assert b"corner" not in body


def test_no_name_and_two_names_are_refused(watched: Watched) -> None:
    assert asked(watched.address, "GET", "/", {})[0] == 403
    name, port = own(watched.address).split(":")
    with socket.create_connection((name, int(port)), 10) as line:
        hosts = f"Host: {name}:{port}\r\nHost: evil.example\r\n"
        line.sendall(f"GET / HTTP/1.1\r\n{hosts}\r\n".encode())
        assert line.recv(100).startswith(b"HTTP/1.1 403")


def test_the_loopback_is_served_by_both_names_with_the_policy(watched: Watched) -> None:
    port = own(watched.address).partition(":")[2]
    for name in ("127.0.0.1", "localhost", "LOCALHOST"):
        status, headers, body = asked(watched.address, "GET", "/", {"Host": f"{name}:{port}"})
        assert status == 200
        assert headers["Content-Security-Policy"].startswith(
            "default-src 'none'; script-src 'self'"
        )
        assert b"http:" not in body
        assert b"https:" not in body
    # it listens nowhere else: the address is the loopback's
    assert watched.address.startswith("http://127.0.0.1:")


@pytest.mark.parametrize(
    "path",
    [
        "/corner.toml",
        "/../corner.toml",
        "/..%2fcorner.toml",
        "//etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/live.js/../../look.py",
        "/state.json/..",
        "/assets/live.js",
        "file:///etc/passwd",
        "/live.js%00",
    ],
)
def test_no_path_leads_to_a_file(watched: Watched, path: str) -> None:
    status, _, body = asked(watched.address, "GET", path, {"Host": own(watched.address)})
    assert status == 404
    assert body == b"Unknown page.\n"


def test_what_another_page_sends_is_refused(watched: Watched) -> None:
    host, trial = {"Host": own(watched.address)}, json.dumps({"values": {}}).encode()
    json_ = {"Content-Type": "application/json"}
    assert asked(watched.address, "POST", "/trial", {**host, **json_}, trial)[0] == 200
    evil = {"Origin": "http://evil.example"}
    assert asked(watched.address, "POST", "/trial", {**host, **json_, **evil}, trial)[0] == 403
    assert asked(watched.address, "GET", "/state.json", {**host, **evil})[0] == 403
    form = {"Content-Type": "text/plain"}  # what a form of another page can send without asking
    assert asked(watched.address, "POST", "/trial", {**host, **form}, trial)[0] == 415
    assert asked(watched.address, "POST", "/state.json", {**host, **json_}, trial)[0] == 404
    assert asked(watched.address, "PUT", "/trial", {**host, **json_}, trial)[0] == 501


@pytest.mark.parametrize(
    "body",
    [
        b"[]",
        b"{",
        b"\xff",
        b'{"values": 3}',
        b'{"values": {"panel.depth": "40"}}',
        b'{"values": {"panel.depth": true}}',
        b'{"values": {"panel.depth": NaN}}',
        b'{"values": {"panel.depth": 1e300}}',
        b'{"values": {"shop.printer.nozzle": 1}}',
        b'{"values": {"panel.board.file=1\\nx": 1}}',
        b"[" * 4000,
    ],
)
def test_a_bad_question_is_told(watched: Watched, body: bytes) -> None:
    watched.until(lambda state: bool(state.get("wall")))
    headers = {"Host": own(watched.address), "Content-Type": "application/json"}
    status, _, text = asked(watched.address, "POST", "/trial", headers, body)
    assert status == 400
    assert text.startswith(b"This question cannot be answered: ")


def test_a_long_question_is_not_read(watched: Watched) -> None:
    headers = {"Host": own(watched.address), "Content-Type": "application/json"}
    assert asked(watched.address, "POST", "/trial", headers, b" " * 5_000)[0] == 413
    for size in ("-1", "x", "٣", "9" * 400):
        told = {**headers, "Content-Length": size}
        if size.isascii():
            assert asked(watched.address, "POST", "/trial", told)[0] == 413


def test_news_come_in_order_and_end_with_the_board() -> None:
    board = Board()
    with Server(Site(board, ("/state.json",), {})) as one:
        connection = http.client.HTTPConnection(*place(one.address), timeout=10)
        connection.request("GET", "/events")
        answer = connection.getresponse()
        assert answer.getheader("Content-Type") == "text/event-stream"
        assert _news(answer) == {"revision": 0, "working": ""}
        board.publish({"/state.json": {"save": 1}}, "solids")
        assert _news(answer) == {"revision": 1, "working": "solids"}
        board.tell("book")
        assert _news(answer) == {"revision": 1, "working": "book"}
    assert answer.read() == b""
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(place(one.address), 2).close()


def _news(answer: Any) -> Any:
    line = answer.readline()
    assert answer.readline() == b"\n"
    return json.loads(line.removeprefix(b"data: "))


def test_so_many_pages_listen_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "MOST_LISTENING", 2)
    with Server(Site(Board(), (), {})) as one:
        lines = []
        for status in (200, 200, 503):
            connection = http.client.HTTPConnection(*place(one.address), timeout=10)
            connection.request("GET", "/events")
            lines.append(connection)
            assert connection.getresponse().status == status


def test_the_state_is_text_alone(watched: Watched) -> None:
    """A hostile title stands in the data as it is written, and is no markup in the picture."""
    watched.save(job_text('map = "A B C"', title="<script>alert(1)</script>"))
    state = watched.until(lambda one: one["title"].startswith("<script>"))
    assert "<script" not in state["wall"]
