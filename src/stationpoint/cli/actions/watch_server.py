"""The page for review, shown to this machine's browsers, and told to them when it has changed.

Two addresses and no more: the page, and the stream of events that it listens to (server-sent events, HTML
Living Standard 9.2). Bound to 127.0.0.1; a request that names another host is refused, so that no page from
elsewhere reads it under a name of its own that leads here (DNS rebinding). Nothing is read from the disk for
it, and nothing written.
"""

from __future__ import annotations

import errno
import json
from collections.abc import Mapping
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import BoundedSemaphore, Condition, Thread

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import visible

HOST = "127.0.0.1"
PAGE, EVENTS = "/", "/events"
ALIVE_S = 10.0  # a listener that has gone is noticed after so long
SLOW_S = 20.0  # that a request may take
MOST_LISTENERS = 32
HEADERS = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
}
FRAMED = "frame-ancestors 'none'"  # a policy within the page cannot say this; the rest stands there


class PageServer:
    """Shows a page. port: 0 for a free one. Raises StudyWrong where it is not to be had."""

    def __init__(self, port: int) -> None:
        self.changed = Condition()
        self.page, self.version, self.wrong = b"", "", ""
        self.turn = 0
        self.due: dict[str, bool] | None = None
        self.redrawn: list[str] = []
        self.listeners = BoundedSemaphore(MOST_LISTENERS)
        try:
            self._server = _Server((HOST, port), _Handler)
        except OSError as error:
            taken = "is taken" if error.errno == errno.EADDRINUSE else "cannot be had"
            raise StudyWrong(f"--port {port} {taken}; name another one, or none for a free one.") from None
        self._server.shown = self
        self.port = int(self._server.server_address[1])
        Thread(target=self._server.serve_forever, args=(0.2,), daemon=True).start()

    @property
    def address(self) -> str:
        """What a browser is given."""
        return f"http://{HOST}:{self.port}/"

    @property
    def hosts(self) -> frozenset[str]:
        """What a request may call this host."""
        names = (HOST, "localhost")
        return frozenset(names if self.port == 80 else ()) | {f"{name}:{self.port}" for name in names}

    def show(self, page: bytes, version: str) -> None:
        """Show a page, and nothing that is wrong any more."""
        with self.changed:
            if (self.version, self.wrong, self.due) != (version, "", None):
                self.turn += 1
            self.page, self.version, self.wrong = page, version, ""
            self._await(None)

    def await_cells(self, due: dict[str, bool]) -> None:
        """Say which of the page's cells are being drawn again. due: labels of those to be, each with whether
        it is another than now."""
        with self.changed:
            self.turn += 1
            self.wrong = ""
            self._await(due)

    def show_cell(self, cell: Mapping[str, object]) -> None:
        """Show a cell that has been drawn again, before the page is. cell: as JSON knows it."""
        with self.changed:
            self.redrawn.append(json.dumps(cell))
            self.changed.notify_all()

    def _await(self, due: dict[str, bool] | None) -> None:
        self.due, self.redrawn = due, []
        self.changed.notify_all()

    def complain(self, words: str) -> None:
        """Say on the page what is wrong."""
        with self.changed:
            words = "\n".join(map(visible, words.split("\n")))
            self.turn += (self.wrong, self.due) != (words, None)
            self.wrong = words
            self._await(None)

    def end(self) -> None:
        """Show nothing any more."""
        self._server.shutdown()
        self._server.server_close()


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    shown: PageServer

    def handle_error(self, request: object, client_address: object) -> None:
        """Nothing: a browser that goes in the middle is no fault."""


class _Handler(BaseHTTPRequestHandler):
    server: _Server
    timeout = SLOW_S

    def version_string(self) -> str:
        """No versions are told."""
        return "stationpoint"

    def log_message(self, format: str, *args: object) -> None:
        """Nothing is logged."""

    def do_HEAD(self) -> None:
        """As GET, without the page."""
        self.do_GET()

    def do_GET(self) -> None:
        """The page, its events, or a refusal."""
        if (
            self.headers.get_all("Host") is None
            or not set(self.headers.get_all("Host", [])) <= self.server.shown.hosts
        ):
            self._refuse(HTTPStatus.MISDIRECTED_REQUEST)
        elif self.path == PAGE:
            self._page()
        elif self.path == EVENTS and self.command == "GET":
            self._events()
        else:
            self._refuse(HTTPStatus.NOT_FOUND)

    def _page(self) -> None:
        shown = self.server.shown
        with shown.changed:
            page = shown.page
        if not page:
            self._refuse(HTTPStatus.SERVICE_UNAVAILABLE)
            return
        self._head(HTTPStatus.OK, "text/html; charset=utf-8", len(page))
        if self.command == "GET":
            self.wfile.write(page)

    def _events(self) -> None:
        shown, told, count = self.server.shown, -1, 0
        if not shown.listeners.acquire(blocking=False):
            self._refuse(HTTPStatus.SERVICE_UNAVAILABLE)
            return
        try:
            self._head(HTTPStatus.OK, "text/event-stream")
            while True:
                with shown.changed:
                    if shown.turn == told and len(shown.redrawn) == count:
                        shown.changed.wait(ALIVE_S)
                    lines = list[str]()
                    if shown.turn != told:
                        told, count = shown.turn, 0
                        said = {"version": shown.version, "wrong": shown.wrong, "due": shown.due}
                        lines.append(f"data: {json.dumps(said)}\n\n")
                    lines += [f"event: cell\ndata: {cell}\n\n" for cell in shown.redrawn[count:]]
                    count = len(shown.redrawn)
                self.wfile.write("".join(lines or [":\n\n"]).encode())
        except OSError:  # it has gone
            return
        finally:
            shown.listeners.release()

    def _refuse(self, status: HTTPStatus) -> None:
        words = f"{status.phrase}\n".encode()
        self._head(status, "text/plain; charset=utf-8", len(words))
        if self.command == "GET":
            self.wfile.write(words)

    def _head(self, status: HTTPStatus, kind: str, length: int | None = None) -> None:
        self.close_connection = True
        self.send_response(status)
        self.send_header("Content-Type", kind)
        if length is not None:
            self.send_header("Content-Length", str(length))
        for name, value in {**HEADERS, "Content-Security-Policy": FRAMED}.items():
            self.send_header(name, value)
        self.send_header("Connection", "close")
        self.end_headers()
