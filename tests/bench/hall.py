"""What the hall's page costs the evening: the watcher's rounds and the board's ticks while clients press in.

    python -m tests.bench.hall [--clients 200] [--seconds 8]

A board on real MicroPython behind a pseudo-terminal heats a simulated oven in real time; the watcher asks it on and on,
first alone, then while clients ask for the page as fast as they can, then beside clients that ask and never read, and
others that say nothing. Told: rounds a second, what the clients got, and the board's own count of late ticks. Linux.
"""

from __future__ import annotations

import argparse
import collections
import contextlib
import http.client
import socket
import statistics
import threading
import time

from host.board_pty import BoardPty
from host.board_pty.__main__ import device_files
from host.link.client import open_board
from host.link.replies import pairs
from host.watch.hall import Hall
from host.watch.watcher import Watcher


def rounds(watcher: Watcher, seconds: float) -> list[float]:
    """How long each round of questions took, s."""
    found = []
    until_s = time.monotonic() + seconds
    while time.monotonic() < until_s:
        began_s = time.monotonic()
        watcher.poll()
        found.append(time.monotonic() - began_s)
    return found


def pressing(hall: Hall, is_over: threading.Event, got: collections.Counter) -> None:
    """One client: asks again and again."""
    path = "/" + hall.url.split("/", 3)[3] + "state.json"
    while not is_over.is_set():
        try:
            line = http.client.HTTPConnection(hall.server.host, timeout=5)
            line.request("GET", path)
            got[line.getresponse().status] += 1
            line.close()
        except (OSError, http.client.HTTPException):
            got["refused"] += 1
            is_over.wait(0.2)


def stuck(hall: Hall, count: int) -> list[socket.socket]:
    """Clients of which every other asks and never reads, and the rest say nothing."""
    path = hall.url.split("/", 3)[3]
    found = []
    for number in range(count):
        one = socket.create_connection(hall.server.server_address)
        if number % 2:
            one.sendall(f"GET /{path}state.json HTTP/1.1\r\nHost: {hall.server.host}\r\n\r\n".encode())
        found.append(one)
    return found


def told(what: str, watcher: Watcher, took_s: list[float], got: object = "") -> None:
    """One line of the table."""
    counters = pairs(watcher.client.ask("counters"))
    late = {name: counters[name] for name in ("stalls", "trips") if name in counters}
    print(f"{what:28} {len(took_s):4} rounds, median {1000 * statistics.median(took_s):4.0f} ms, worst "
          f"{1000 * max(took_s):4.0f} ms; trip {watcher.view['trip']}, {late} {got}")  # fmt: skip


def main(clients: int, seconds: float) -> None:
    """Print the table."""
    with BoardPty(files=device_files("boards/pico.py")) as board, contextlib.ExitStack() as stack:
        time.sleep(12.0)  # its start, from sources
        client = open_board(board.link)
        watcher = Watcher(lambda: client, client)
        while not watcher.poll() or watcher.view["status"]["state"] != "idle" or watcher.view["status"]["missing"]:
            time.sleep(0.5)
        print("start:", client.ask("start"))
        hall = Hall(watcher, address="127.0.0.1")
        stack.callback(watcher.close)
        stack.callback(hall.close)
        told("alone", watcher, rounds(watcher, seconds))
        is_over, got = threading.Event(), collections.Counter()
        hands = [threading.Thread(target=pressing, args=(hall, is_over, got)) for _ in range(clients)]
        for hand in hands:
            hand.start()
        took_s = rounds(watcher, seconds)
        is_over.set()
        for hand in hands:
            hand.join()
        told(f"beside {clients} clients", watcher, took_s, dict(got))
        held = stuck(hall, 40)
        told("beside 40 that do not read", watcher, rounds(watcher, seconds))
        for one in held:
            one.close()
        told("alone again", watcher, rounds(watcher, seconds))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--clients", type=int, default=200)
    parser.add_argument("--seconds", type=float, default=8.0)
    options = parser.parse_args()
    main(options.clients, options.seconds)
