"""The page for phones in the hall: only its own address, never an act, an end with the evening, a limit on clients."""

import http.client
import json
import socket
import threading
import time
import urllib.error
import urllib.request

import pytest
from watch_boards import Ticking, simulated

from host.link import LinkError
from host.watch import hall as hall_module
from host.watch.hall import Hall
from host.watch.watcher import Watcher

pytestmark = pytest.mark.slow

HERE = "127.0.0.1"  # stands in for the hall's network: the server is told its address


@pytest.fixture
def shown():
    """(watcher of a simulated board that heats, its hall page)."""
    client = simulated()
    watcher = Watcher(lambda: client, client, wall=Ticking(0.001))
    client.ask("start")
    client.wait(5)
    watcher.poll()
    hall = Hall(watcher, address=HERE)
    yield watcher, hall
    hall.close()


def asked(url, method="GET", **headers):
    """(code, text, headers) of a request."""
    request = urllib.request.Request(url, None, headers, method=method)
    try:
        with urllib.request.urlopen(request, timeout=60) as reply:
            return reply.status, reply.read().decode(), reply.headers
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode(), error.headers


def test_address_gives_the_page_and_its_values_and_says_that_it_only_shows(shown):
    _, hall = shown
    assert len(hall.url.rstrip("/").rpartition("/")[2]) == 22  # 16 bytes in base64url
    code, text, headers = asked(hall.url)
    assert code == 200 and "only shows" in text and "default-src 'none'" in headers["Content-Security-Policy"]
    assert headers["Referrer-Policy"] == "no-referrer" and headers["Cache-Control"] == "no-store"
    state = json.loads(asked(hall.url + "state.json")[1])
    assert state["may_stop"] is False and state["status"]["state"] == "running"
    assert state["cue"]["do"]
    for name in ("watch.css", "watch.js"):
        assert asked(hall.url + name)[0] == 200


def test_guessed_address_gives_nothing(shown):
    _, hall = shown
    root = hall.url.rsplit("/", 2)[0]
    secret = hall.url.rstrip("/").rpartition("/")[2]
    for path in ("/", "/state.json", "/watch.js", f"/{'A' * 22}/state.json", f"/{secret[:-1]}/", f"/{secret}",
                 f"/{secret}x/state.json", "/../state.json", "//" + secret):  # fmt: skip
        code, text, _ = asked(root + path)
        assert (code, "pv_c" in text) == (404, False), path


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_no_act_is_taken_from_the_hall(shown, method):
    watcher, hall = shown
    for path in ("stop", "start", "", "state.json"):
        assert asked(hall.url + path, method, **{"X-Act": "stop"})[0] == 403
    assert not watcher.waiting


def test_another_host_name_is_refused_and_no_other_origin_may_read(shown):
    _, hall = shown
    assert asked(hall.url + "state.json", Host="rebound.example")[0] == 403
    code, _, headers = asked(hall.url + "state.json", Origin="http://elsewhere.example")
    assert code == 200 and "Access-Control-Allow-Origin" not in headers  # a browser gives the other page nothing


def test_two_hundred_clients_are_served_or_refused_while_the_board_is_asked_on(shown):
    watcher, hall = shown
    found, begin = [], threading.Event()

    def look():
        begin.wait()
        try:
            found.append(asked(hall.url + "state.json")[0])
        except (urllib.error.URLError, http.client.HTTPException, OSError):
            found.append("refused")

    clients = [threading.Thread(target=look) for _ in range(200)]
    for client in clients:
        client.start()
    begin.set()
    rounds = 0
    while any(client.is_alive() for client in clients):
        assert watcher.poll()
        rounds += 1
    assert len(found) == 200 and set(found) <= {200, "refused"} and found.count(200) >= hall_module.MOST_AT_ONCE
    assert rounds >= 1 and asked(hall.url)[0] == 200
    report = watcher.client.rehearsal
    assert report.trip == "none" and not [one for one in report.events if one.get("value") == "tick-late"]


def test_clients_that_stop_reading_are_let_go_and_others_served_meanwhile(shown, monkeypatch):
    watcher, hall = shown
    monkeypatch.setattr(hall_module.HallHandler, "timeout", 0.3)
    path = hall.url.split("/", 3)[3]
    stuck = []
    for _ in range(hall_module.MOST_AT_ONCE + 8):  # they ask and never read, or say nothing at all
        one = socket.create_connection(hall.server.server_address)
        one.sendall(f"GET /{path}state.json HTTP/1.1\r\nHost: {hall.server.host}\r\n".encode())
        stuck.append(one)
    assert watcher.poll()  # the board is asked on as ever
    deadline = time.monotonic() + 60
    code = None
    while code != 200 and time.monotonic() < deadline:
        try:
            code = asked(hall.url)[0]
        except (urllib.error.URLError, http.client.HTTPException, OSError):
            code = None
    assert code == 200
    for one in stuck:
        one.close()


def test_page_ends_with_the_evening_and_not_before(shown):
    _, hall = shown
    for state, stage in (("idle", "none"), ("running", "preheat"), ("held", "soak"), ("complete", "cool")):
        hall.follow({"state": state, "stage": stage})
        assert hall.is_open
    hall.follow(None)
    hall.follow({"state": "complete", "stage": "none"})
    assert not hall.is_open
    with pytest.raises((urllib.error.URLError, OSError)):
        urllib.request.urlopen(hall.url, timeout=60)


def test_page_ends_after_eight_hours_whatever_happens(shown):
    watcher, _ = shown
    now_s = [0.0]
    hall = Hall(watcher, address=HERE, clock=lambda: now_s[0])
    now_s[0] = hall_module.LONGEST_S + 1
    hall.follow({"state": "running", "stage": "bake"})
    assert not hall.is_open


def test_every_hall_has_an_address_of_its_own_and_a_code_that_says_it(shown):
    watcher, hall = shown
    other = Hall(watcher, address=HERE)
    assert other.url.rpartition(":")[2] != hall.url.rpartition(":")[2]
    other.close()
    segno = pytest.importorskip("segno")
    code = segno.make(hall.url, error="m", micro=False)
    lines = [line for line in hall.picture().splitlines() if line]
    size = code.symbol_size(border=4)[1]
    assert len(lines) >= size // 2  # two rows of the code a line


def test_taken_port_and_missing_network_are_one_line(shown, monkeypatch):
    watcher, hall = shown
    with pytest.raises(LinkError, match="cannot be used"):
        Hall(watcher, hall.server.server_address[1], HERE)

    def nowhere(*_):
        raise OSError("unreachable")

    monkeypatch.setattr(hall_module.socket.socket, "connect", nowhere)
    with pytest.raises(LinkError, match="in no network"):
        hall_module.own_address()
