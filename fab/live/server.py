"""The server of the page: this machine alone, a fixed table of paths, nothing of the file system.

A request is refused unless it names the loopback by the address that was printed: a page from
elsewhere can't read here through a name that it turned to 127.0.0.1 (DNS rebinding). What a trial
asks must be JSON from the page itself, so no form of another page can send it.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from typing import Any

from fab.book.scene import script
from fab.live.board import Board

LOOPBACK = "127.0.0.1"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:;"
    " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}
SCRIPTS = ("words.js", "views.js", "trials.js", "live.js")  # as the page loads them
MOST_ASKED = 4_096  # bytes of a trial's question
MOST_LISTENING = 24  # pages that hear news at one time
ALIVE_S = 10.0  # a page that waits this long gets an empty answer
TIMEOUT_S = 60.0  # for the words of a request; who says nothing so long is let go

Answer = Callable[[Mapping[str, Any]], Any]


@dataclass(frozen=True)
class Site:
    """The addresses served: pages that are always the same, those of the board, and questions."""

    board: Board
    data: tuple[str, ...]  # paths whose content the board has
    ask: Mapping[str, Answer]  # path to what answers a question; raises ValueError for a bad one


def _asset(name: str) -> bytes:
    return (files("fab.live") / "assets" / name).read_bytes()


def _fixed() -> dict[str, tuple[str, bytes]]:
    """Path to type and content of all that never changes."""
    return {
        "/": ("text/html; charset=utf-8", _asset("page.html")),
        "/live.css": ("text/css; charset=utf-8", _asset("live.css")),
        **{f"/{name}": ("text/javascript; charset=utf-8", _asset(name)) for name in SCRIPTS},
        "/view3d.js": ("text/javascript; charset=utf-8", script().encode()),
    }


class Server:
    """The page's server, in threads of its own."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._http = _Http((LOOPBACK, 0), _Handler)
        self._http.site, self._http.fixed = site, _fixed()
        self._thread = threading.Thread(
            target=self._http.serve_forever, args=(0.1,), name="page", daemon=True
        )

    @property
    def address(self) -> str:
        """The address to open in a browser."""
        return f"http://{LOOPBACK}:{self._http.server_address[1]}/"

    def __enter__(self) -> Server:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.site.board.close()
        self._http.shutdown()
        self._http.server_close()


class _Http(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False
    site: Site
    fixed: Mapping[str, tuple[str, bytes]]

    def __init__(self, *args: Any) -> None:
        super().__init__(*args)
        self.listening = threading.BoundedSemaphore(MOST_LISTENING)
        port = self.server_address[1]
        self.names = frozenset((f"{LOOPBACK}:{port}", f"localhost:{port}"))

    def handle_error(self, *_: object) -> None:
        """A page that was closed in the middle of an answer is no fault."""


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server_version, sys_version = "panejig", ""
    timeout = TIMEOUT_S
    server: _Http

    def do_GET(self) -> None:
        """Serve what the table has."""
        path = self.path.partition("?")[0]
        if not self._allowed():
            return
        if path in self.server.fixed:
            self._send(HTTPStatus.OK, *self.server.fixed[path])
        elif path in self.server.site.data:
            self._send_json(HTTPStatus.OK, self.server.site.board.content(path))
        elif path == "/events":
            self._events()
        else:
            self._refuse(HTTPStatus.NOT_FOUND, "Unknown page.")

    def do_POST(self) -> None:
        """Answer a question; nothing is written for it."""
        self.close_connection = True  # what a refused question still sends is not read
        answer = self.server.site.ask.get(self.path)
        if not self._allowed():
            return
        if answer is None:
            self._refuse(HTTPStatus.NOT_FOUND, "Unknown question.")
            return
        if self.headers.get_content_type() != "application/json":
            self._refuse(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, "A question must be JSON.")
            return
        size = self.headers.get("Content-Length", "")
        if not (size.isascii() and size.isdigit() and len(size) < 8 and int(size) <= MOST_ASKED):
            self._refuse(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, f"At most {MOST_ASKED} bytes.")
            return
        try:
            asked = json.loads(self.rfile.read(int(size)))
            if not isinstance(asked, dict):
                raise ValueError("a question is a table of values")
            found = json.dumps(answer(asked), allow_nan=False).encode()
        except (ValueError, RecursionError) as error:
            self._refuse(HTTPStatus.BAD_REQUEST, f"This question cannot be answered: {error}")
            return
        self._send_json(HTTPStatus.OK, found)

    def _allowed(self) -> bool:
        """True when the request names the loopback, and comes from nowhere else."""
        hosts = self.headers.get_all("Host") or []
        origin = self.headers.get("Origin")
        if len(hosts) != 1 or hosts[0].lower() not in self.server.names:
            self._refuse(HTTPStatus.FORBIDDEN, "The page was requested under another address.")
            return False
        if origin is not None and origin.lower() not in {f"http://{n}" for n in self.server.names}:
            self._refuse(
                HTTPStatus.FORBIDDEN,
                ("The request comes from another page; only this page may send it."),
            )
            return False
        return True

    def _events(self) -> None:
        """News as server-sent events (WHATWG HTML, 9.2) until the page or the board closes."""
        if not self.server.listening.acquire(blocking=False):
            self._refuse(HTTPStatus.SERVICE_UNAVAILABLE, "Too many pages are open.")
            return
        try:
            self.close_connection = True
            self.send_response(HTTPStatus.OK)
            self.send_header("Content-Type", "text/event-stream")
            self.send_header("Connection", "close")
            for name, value in HEADERS.items():
                self.send_header(name, value)
            self.end_headers()
            seen, board = (-1, ""), self.server.site.board
            while (news := board.news(seen, ALIVE_S)) is not None:
                text = json.dumps({"revision": news[0], "working": news[1]})
                self.wfile.write(f"data: {text}\n\n".encode() if news != seen else b":\n\n")
                self.wfile.flush()
                seen = news
        except OSError:  # the page was closed
            pass
        finally:
            self.server.listening.release()

    def _send_json(self, status: HTTPStatus, content: bytes) -> None:
        self._send(status, "application/json", content)

    def _refuse(self, status: HTTPStatus, says: str) -> None:
        self._send(status, "text/plain; charset=utf-8", f"{says}\n".encode())

    def _send(self, status: HTTPStatus, kind: str, content: bytes) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        for name, value in HEADERS.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, *_: object) -> None:
        """The terminal belongs to the watch."""
