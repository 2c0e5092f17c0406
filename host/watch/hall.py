"""The live page for phones in the hall: the same page on the hall's network, at an address that nobody can guess, to be
read and never to act. It ends with the evening.

    hall = Hall(watcher); hall.url; hall.picture()      http://192.168.1.20:8451/<22 letters>/
    hall.follow(status)                                 once a round: closes it when the evening is over

Threads of the laptop answer it from what the watcher has already asked: no client ever reaches the board's link.
"""

from __future__ import annotations

import hmac
import json
import secrets
import socket
import threading
import time
from collections.abc import Callable
from http.server import ThreadingHTTPServer
from typing import TYPE_CHECKING, Any

from host.link import LinkError
from host.watch.serve import Handler, state_of

if TYPE_CHECKING:
    from host.watch.watcher import Watcher

SECRET_BYTES = 16  # 128 bits: as a key of AES-128
MOST_AT_ONCE = 32  # connections; more are refused until one is free
IDLE_S = 5  # a client that neither sends nor reads is let go
FRESH_S = 0.5  # for so long every client gets the same text
LONGEST_S = 8 * 3600.0
OVER = ("idle", "stopped", "complete", "aborted")


def own_address() -> str:
    """This laptop's address in the hall's network; LinkError where it is in none. Nothing is sent: a datagram socket
    that is connected only picks its route (192.0.2.1 is a documentation address of RFC 5737)."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            address = probe.getsockname()[0]
        except OSError:
            address = ""
    if not address or address.startswith("127.") or address == "0.0.0.0":
        raise LinkError("hall: this laptop is in no network; join the hall's, or leave --lan out")
    return address


class HallHandler(Handler):
    """Reads only, below the secret path only."""

    timeout = IDLE_S

    def do_POST(self) -> None:
        """No act from the hall, ever."""
        self._send(403, "text/plain", "refused: this page only shows\n")

    do_PUT = do_DELETE = do_PATCH = do_OPTIONS = do_POST

    def _path(self):
        """The path behind the secret, or one that there is not."""
        secret = self.server.secret
        given, rest = self.path[1 : 1 + len(secret)], self.path[1 + len(secret) :]
        is_right = hmac.compare_digest(given.encode("utf-8", "replace"), secret.encode())
        return rest if is_right and rest.startswith("/") else "nothing"

    def _state(self):
        return self.server.fresh()

    def _is_ours(self):
        return self.headers.get("Host") == self.server.host


class HallServer(ThreadingHTTPServer):
    """At most MOST_AT_ONCE connections at a time; one more is closed at once and costs no thread."""

    daemon_threads = True
    request_queue_size = 64

    def __init__(self, address: tuple[str, int], watcher: Watcher, secret: str) -> None:
        super().__init__(address, HallHandler)
        self.watcher = watcher
        self.may_stop = False
        self.secret = secret
        self.host = f"{address[0]}:{self.server_address[1]}"
        self.refused = 0
        self._free = threading.BoundedSemaphore(MOST_AT_ONCE)
        self._lock = threading.Lock()
        self._text, self._made_at = "", -FRESH_S

    def process_request(self, request: socket.socket | tuple[bytes, socket.socket], client_address: Any) -> None:
        """A thread for it if one is free."""
        if not self._free.acquire(blocking=False):
            self.refused += 1
            self.shutdown_request(request)
            return
        try:
            super().process_request(request, client_address)
        except RuntimeError:  # no thread could be started
            self._free.release()
            self.shutdown_request(request)

    def process_request_thread(self, request: socket.socket | tuple[bytes, socket.socket], client_address: Any) -> None:
        """As in the library, and free again afterwards."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._free.release()

    def handle_error(self, request: socket.socket | tuple[bytes, socket.socket], client_address: Any) -> None:
        """A phone that went away is no news, and the terminal belongs to the live view."""

    def fresh(self) -> str:
        """The state as text, made anew at most every FRESH_S."""
        with self._lock:
            if time.monotonic() - self._made_at >= FRESH_S:
                self._text = json.dumps(state_of(self.watcher, False))
                self._made_at = time.monotonic()
            return self._text


class Hall:
    """The running server. `address`: where to listen (default: this laptop's in its network)."""

    def __init__(
        self, watcher: Watcher, port: int = 0, address: str | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        address = address or own_address()
        secret = secrets.token_urlsafe(SECRET_BYTES)
        try:
            self.server = HallServer((address, port), watcher, secret)
        except (OSError, OverflowError) as error:
            raise LinkError(f"hall: {address} port {port} cannot be used ({error})") from None
        self.url = f"http://{self.server.host}/{secret}/"
        self.is_open = True
        self._clock = clock
        self._since_s = clock()
        self._was_on = False
        self._thread = threading.Thread(target=self.server.serve_forever, name="hall", daemon=True)
        self._thread.start()

    def picture(self) -> str:
        """The address as a QR code of half blocks for the terminal; "" without the library (extra `hall`)."""
        try:
            import segno
        except ImportError:
            return ""
        import io

        text = io.StringIO()
        segno.make(self.url, error="m", micro=False).terminal(text, compact=True)
        return text.getvalue()

    def follow(self, status: dict[str, Any] | None) -> None:
        """Close once the evening that was seen under way has ended and cooled, or after eight hours."""
        if not self.is_open:
            return
        state = status["state"] if status else ""
        self._was_on = self._was_on or state in ("running", "held")
        is_over = self._was_on and state in OVER and status is not None and status["stage"] == "none"
        if is_over or self._clock() - self._since_s > LONGEST_S:
            self.close()

    def close(self) -> None:
        """Stop serving; the address is worth nothing from now on."""
        if self.is_open:
            self.is_open = False
            self.server.shutdown()
            self.server.server_close()
            self._thread.join()
