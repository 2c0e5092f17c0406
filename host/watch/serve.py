"""The page's server: this laptop only (127.0.0.1), four paths, read-only unless stop was allowed at the start. hall.py
serves the same page, read-only, to the hall's network.

A page of another origin can neither read (no cross-origin headers, the Host header is checked against rebinding) nor
stop (a header of our own would need a permission that is never given).
"""

from __future__ import annotations

import json
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING, Any

from host.link import LinkError
from host.link.replies import said
from host.runs.recording import clean
from host.watch.page import CSS, HTML
from host.watch.screen import ALARM_WORDS
from host.watch.script import JS

if TYPE_CHECKING:
    from host.watch.watcher import Watcher


ADDRESS = "127.0.0.1"
POINTS = 300
STOP_S = 5.0
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
FILES = {
    "/": ("text/html; charset=utf-8", HTML),
    "/watch.css": ("text/css; charset=utf-8", CSS),
    "/watch.js": ("text/javascript; charset=utf-8", JS),
}


def thinned(history: list[tuple], points: int = POINTS) -> list[tuple]:
    """At most about `points` of the newest half hour, the newest always among them."""
    rows = [row for row in history if row[0] >= history[-1][0] - 1800.0]
    step = max(1, len(rows) // points)
    return rows[::-1][::step][::-1]


def state_of(watcher: Watcher, may_stop: bool) -> dict[str, Any]:
    """What /state.json says."""
    view = watcher.view
    needed = [[said(name, is_good), is_good, remedy] for name, is_good, remedy in view["permissives"]]
    alarms = [
        [name.replace("-", " "), ALARM_WORDS.get(state, state), view["alarm_words"].get(name, "")]
        for name, state in view["alarms"].items()
    ]
    told = {"needed": sorted(needed, key=lambda one: one[1]), "alarms_told": alarms}
    return clean({
        **view, **told, "age_s": watcher.age_s, "may_stop": may_stop, "history": thinned(watcher.samples()),
    })  # fmt: skip


class Handler(BaseHTTPRequestHandler):
    """One request. The server carries `watcher` and `may_stop`."""

    server: Any
    server_version = "oven"
    sys_version = ""
    timeout = 10

    def do_GET(self) -> None:
        """A file or the state."""
        path = self._path()
        if not self._is_ours():
            self._send(403, "text/plain", "this server answers to its own address only\n")
        elif path == "/state.json":
            self._send(200, "application/json", self._state())
        elif path in FILES:
            self._send(200, *FILES[path])
        else:
            self._send(404, "text/plain", "nothing here\n")

    def do_POST(self) -> None:
        """Stop, where it was allowed."""
        if not self._is_ours() or self.headers.get("X-Act") != "stop" or not self._same_origin():
            self._send(403, "text/plain", "refused: not from this page\n")
        elif self.path != "/stop":
            self._send(404, "text/plain", "nothing here\n")
        elif not self.server.may_stop:
            self._send(403, "text/plain", "refused: this page only shows (start watch with --allow-stop)\n")
        else:
            order = self.server.watcher.order("stop")
            if order.done.wait(STOP_S):
                self._send(200, "text/plain", f"the board says: {order.reply}\n")
            else:
                self._send(504, "text/plain", "NO ANSWER YET: stop at the oven\n")

    def _path(self):
        return self.path

    def _state(self):
        return json.dumps(state_of(self.server.watcher, self.server.may_stop))

    def _is_ours(self):
        port = self.server.server_address[1]
        return self.headers.get("Host") in (f"{ADDRESS}:{port}", f"localhost:{port}")

    def _same_origin(self):
        origin = self.headers.get("Origin")
        return origin is None or origin == f"http://{self.headers.get('Host')}"

    def _send(self, code, kind, text):
        body = text.encode("utf-8")
        self.send_response(code)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Content-Security-Policy", POLICY)
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Referrer-Policy", "no-referrer")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *arguments: object) -> None:
        """Nothing: the terminal belongs to the live view."""


class Page:
    """The running server; `url` to open. LinkError where the port is taken."""

    def __init__(self, watcher: Watcher, port: int = 0, may_stop: bool = False) -> None:
        try:
            self.server = ThreadingHTTPServer((ADDRESS, port), Handler)
        except (OSError, OverflowError) as error:
            raise LinkError(
                f"page: port {port} cannot be used ({getattr(error, 'strerror', None) or error}); say --port-number"
            ) from None
        self.server.daemon_threads = True
        self.server.watcher = watcher  # type: ignore[attr-defined]
        self.server.may_stop = may_stop  # type: ignore[attr-defined]
        self.url = f"http://{ADDRESS}:{self.server.server_address[1]}/"
        self._thread = threading.Thread(target=self.server.serve_forever, name="page", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop serving."""
        self.server.shutdown()
        self.server.server_close()
        self._thread.join()
