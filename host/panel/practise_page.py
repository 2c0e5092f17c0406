"""Practise in the browser: the display drawn large, a button for each key. Simulated only, and this laptop only.

Nothing here reaches a board: the acts are those of a hand at a simulated panel. A page of another origin can neither
read nor act (the Host header is checked, and an act needs a header that is never granted across origins).
"""

import contextlib
import json
import queue
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from host.link import LinkError
from host.page import document
from host.panel.practise import KEYS, Practice

ADDRESS = "127.0.0.1"
POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; base-uri 'none'"
CSS = """:root { color-scheme: light dark; --ink: #1d2328; --ground: #f4f1ea; --edge: #6b6459; }
@media (prefers-color-scheme: dark) { :root { --ink: #f0ece3; --ground: #1b1d20; --edge: #a29b8f; } }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 46rem; padding: .8rem; background: var(--ground); color: var(--ink);
  font: 1rem/1.45 Verdana, sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.1rem; margin: 0 0 .5rem; }
canvas { display: block; width: 100%; background: #141414; border: .6rem solid #141414; border-radius: .4rem;
  image-rendering: pixelated; }
#words { white-space: pre-wrap; min-height: 9rem; margin: .7rem 0; }
.keys { display: grid; grid-template-columns: repeat(auto-fit, minmax(8.5rem, 1fr)); gap: .5rem; }
button { font: inherit; min-height: 3rem; padding: .3rem .6rem; border: 2px solid var(--edge); border-radius: .3rem;
  background: transparent; color: inherit; }
button:focus-visible { outline: 3px solid var(--ink); outline-offset: 2px; }
button.halt { font-weight: bold; border-width: 4px; }
"""
JS = """'use strict';
const glass = document.getElementById('glass').getContext('2d');
const words = document.getElementById('words');
function draw(rows) {
  glass.fillStyle = '#141414'; glass.fillRect(0, 0, 128, 64); glass.fillStyle = '#fff';
  rows.forEach((row, y) => { for (let x = 0; x < 128; x++) if (row[x] === '1') glass.fillRect(x, y, 1, 1); });
}
async function look() {
  try {
    const reply = await fetch('/state.json', { cache: 'no-store' });
    const state = await reply.json();
    draw(state.rows);
    const text = state.words.join('\\n');
    if (words.textContent !== text) words.textContent = text;
    document.getElementById('glass').setAttribute('aria-label', 'display of the panel, ' + state.words[0]);
  } catch (error) { words.textContent = 'practise has ended on the laptop (' + error.message + ')'; }
  setTimeout(look, 250);
}
async function press(key) {
  await fetch('/key', { method: 'POST', headers: { 'X-Key': encodeURIComponent(key) } });
}
for (const button of document.querySelectorAll('button')) {
  button.addEventListener('click', () => press(button.dataset.key));
}
document.addEventListener('keydown', (event) => {
  const key = { ArrowLeft: '<', ArrowRight: '>', Enter: 'k' }[event.key] || event.key;
  if (event.target.tagName !== 'BUTTON' && document.querySelector('button[data-key="' + CSS.escape(key) + '"]')) {
    press(key);
  }
});
look();
"""


def html() -> str:
    """The page: a landmark for the display, one for the words, one for the keys."""
    buttons = "".join(
        f'<button type="button" data-key="{"&lt;" if key == "<" else "&gt;" if key == ">" else key}"'
        f"{' class=halt' if key == 'x' else ''}>{what}</button>"
        for key, what in KEYS.items()
        if key != "q"
    )
    body = [
        "<header><h1>Practise at the panel: a simulated oven</h1></header><main>",
        '<canvas id="glass" width="128" height="64" role="img" aria-label="display of the panel"></canvas>',
        '<section aria-label="What happens"><p id="words" role="status">loading</p></section>',
        f'<section class="keys" aria-label="Hands">{buttons}</section></main>',
    ]
    head = ('<link rel="stylesheet" href="/practise.css">', '<link rel="icon" href="data:,">')
    script = '<script src="/practise.js" defer></script>'
    return document("Practise at the panel", body, style=None, head=(*head, script), policy=None)


FILES = {"/": ("text/html", html), "/practise.css": ("text/css", lambda: CSS), "/practise.js": ("text/javascript", JS)}


class Server(ThreadingHTTPServer):
    """`keys`: pressed and not yet taken; `seen`: rows and words of the display."""

    daemon_threads = True

    def __init__(self, address: tuple[str, int]) -> None:
        super().__init__(address, Handler)
        self.keys: queue.Queue[str] = queue.Queue(maxsize=100)
        self.seen: dict[str, list[str]] = {"rows": [], "words": [""]}


class Handler(BaseHTTPRequestHandler):
    """One request; the server carries `seen` (rows, words) and `keys`."""

    server: Server

    server_version, sys_version, timeout = "practise", "", 10

    def do_GET(self) -> None:
        """A file, or what the display shows."""
        if not self._is_ours():
            self._send(403, "text/plain", "this server answers to its own address only\n")
        elif self.path == "/state.json":
            self._send(200, "application/json", json.dumps(self.server.seen))
        elif self.path in FILES:
            kind, text = FILES[self.path]
            self._send(200, kind + "; charset=utf-8", text() if callable(text) else text)
        else:
            self._send(404, "text/plain", "nothing here\n")

    def do_POST(self) -> None:
        """A key of the simulated panel."""
        key = {"%3C": "<", "%3E": ">", "%2B": "+"}.get(self.headers.get("X-Key", ""), self.headers.get("X-Key", ""))
        origin = self.headers.get("Origin")
        if not self._is_ours() or key not in KEYS or origin not in (None, f"http://{self.headers.get('Host')}"):
            self._send(403, "text/plain", "refused: not from this page\n")
        else:
            with contextlib.suppress(queue.Full):  # nobody takes that many
                self.server.keys.put_nowait(key)
            self._send(200, "text/plain", "ok\n")

    def _is_ours(self):
        port = self.server.server_address[1]
        return self.headers.get("Host") in (f"{ADDRESS}:{port}", f"localhost:{port}")

    def _send(self, code, kind, text):
        body = text.encode("utf-8")
        self.send_response(code)
        for name, value in (
            ("Content-Type", kind), ("Content-Length", str(len(body))), ("Content-Security-Policy", POLICY),
            ("X-Content-Type-Options", "nosniff"), ("Referrer-Policy", "no-referrer"), ("Cache-Control", "no-store"),
        ):  # fmt: skip
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *arguments: Any) -> None:
        """Nothing: the terminal shows the display."""


class PractisePage:
    """The running server: `show(practice)` what is seen, `keys()` what was pressed. LinkError for a taken port."""

    def __init__(self, port: int = 0) -> None:
        try:
            self.server = Server((ADDRESS, port))
        except (OSError, OverflowError) as error:
            raise LinkError(f"page: port {port} cannot be used ({error}); say --port-number") from None
        self.url = f"http://{ADDRESS}:{self.server.server_address[1]}/"
        threading.Thread(target=self.server.serve_forever, name="practise", daemon=True).start()

    def show(self, practice: Practice) -> None:
        """What the page sees next."""
        rows = ["".join("1" if point else "0" for point in row) for row in practice.hand.image()]
        self.server.seen = {"rows": rows, "words": practice.words()}

    def keys(self) -> str:
        """Keys that were pressed since the last call."""
        pressed = ""
        while not self.server.keys.empty():
            pressed += self.server.keys.get()
        return pressed

    def close(self) -> None:
        """Stop serving."""
        self.server.shutdown()
        self.server.server_close()
