"""The same on real MicroPython behind a pseudo-terminal, through a real serial port: watch, pull, commission.

The course ends with the cutoff here, since an oven takes its time to 450 °C; COMMISSION_UNTIL=full-heat goes on.
"""

import os
import sys

import pytest
from commission_answers import answers

from host import oven
from host.commissioning.course import NAMES, Course
from host.commissioning.hands import SimulatedHands
from host.commissioning.person import Answers
from host.commissioning.record import Record
from host.link import LinkError
from host.runs.recording import read_run
from host.watch.record import Recorder, pull
from host.watch.watcher import Watcher
from tests.metered import OnDevicesTime

if sys.platform != "linux":
    pytest.skip("pseudo-terminals with MicroPython behind them are made on Linux", allow_module_level=True)

from host.board_pty.__main__ import device_files
from host.board_pty.board import BoardPty
from host.shim.remote import RuntimeMissing

UNTIL = os.environ.get("COMMISSION_UNTIL", "cutoff")


class PtyHands(SimulatedHands):
    """Acts at the oven are done in the board's own thread; its supply is switched by its harness."""

    def __init__(self, board, plant, client):
        super().__init__(board, plant)
        self.board = board
        self.client = client

    def _restart(self):
        """Left to the caller's thread."""

    def _power_cycle(self):
        self.board.power_cycle()
        assert any(self._is_armed() for _ in range(20))

    def _is_armed(self):
        try:
            return "armed=1" in self.client.ask("permissives")
        except LinkError:
            return False

    def _do(self, method, *arguments):
        self.board._order(method, *arguments)

    def without_mains(self):
        self._power_cycle()
        self._do(self.outside.mains, 0.0)

    def _connect(self, plant):
        self._do(super()._connect, plant)
        self._power_cycle()

    def warm(self, probe):
        self._do(super().warm, probe)

    def let_go(self, probe):
        self._do(super().let_go, probe)

    def _soon(self, name, value):
        self._do(super()._soon, name, value)

    def limiter_down(self, reading_c):
        self._do(super().limiter_down, reading_c)

    def limiter_back(self):
        self._do(super().limiter_back)


@pytest.fixture
def board():
    plant = oven.preset("standard", 1)
    try:
        made = BoardPty("boards/pico.py", plant=plant, files=device_files("boards/pico.py"), metered=True)
    except RuntimeMissing as error:
        pytest.skip(f"MicroPython is needed: {error}")
    with made:
        yield made


def answering(board):
    """A client that the board has answered."""
    client = OnDevicesTime(board)
    for _ in range(100):
        try:
            client.ask("status")
            return client
        except LinkError:
            client.wait(1.0)
    raise AssertionError("the board never answered")


@pytest.mark.slow
def test_commissioning_over_a_real_port_on_real_micropython(board, tmp_path):
    client = answering(board)
    record = Record(tmp_path / "record.json")
    course = Course(client, Answers(answers()), PtyHands(board, board.plant, client), record, lambda: "20260105T1830")
    course.begin(True)
    done = NAMES.index(UNTIL) + 1
    assert course.run(UNTIL) == (done, earned_c(done), "")
    assert [entry["name"] for entry in record.data["steps"]] == NAMES[:done]
    lines = pull(client, tmp_path / "board.log")
    text = (tmp_path / "board.log").read_text(encoding="utf-8")
    trips = text.count("trip high-limit") + text.count("trip limiter-open")
    assert trips == (1 if done < 9 else 2)
    assert lines == trips + text.count("latch cleared")
    board.power_cycle()
    assert any(f"release_c={earned_c(done)}" in told(client, "witness") for _ in range(20))


def earned_c(done):
    """The release that so many steps earn, written down here by itself."""
    return 60 if done < 6 else 120 if done < 8 else 260 if done < 9 else 480


def told(client, line):
    """A reply, "" while there is none."""
    try:
        return client.ask(line)
    except LinkError:
        return ""


@pytest.mark.slow
def test_watch_survives_the_cable_being_pulled_and_records_both_sides(board, tmp_path):
    watcher = Watcher(lambda: answering(board), answering(board), Recorder(tmp_path / "run"), wall=lambda: 0.0)
    assert watcher.poll() and watcher.view["status"]["state"] == "idle"
    board.cut_link_after(1)
    polled = [watcher.poll() for _ in range(3)]
    assert False in polled and "LINK LOST" in watcher.view["word"]
    board.plug_in()
    watcher._tried_at = None
    for _ in range(20):
        watcher._tried_at = None
        if watcher.poll():
            break
    assert watcher.view["connected"] and watcher.lost >= 1
    watcher.close()
    told = [event["text"] for event in read_run(tmp_path / "run").events if event["kind"] == "link"]
    assert told[0] == "lost" and told[-1] == "connected"
