"""The guide of README.md, each line typed: from an empty folder to an oven that is handed back.

The board is real MicroPython behind a pseudo-terminal with a simulated oven around it, and once loaded it lives on its
own time: whoever waits for it lets it live, and this machine's clock counts for nothing. Two things are not done here:
drill runs one fault in place of the whole campaign, and the witness steps with mains (tests/commission goes through
them) are laid into the board's store after the steps of papers and readings were typed.
"""

import itertools
import re
import sys
from pathlib import Path

import pytest

from host import oven
from host.files import kinds
from tests.metered import OnDevicesTime, lived_until

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
GUIDE = README.partition("## From the box to the first bread")[2].partition("\n## ")[0]
SPEED = 100.0  # while it is loaded
HOUR_S = 3600.0
ANSWERS = """
[by]
name = "M. Baker"
initials = "MB"
stays = true
[papers]
plate = "single oven"
rated_w = 2900
cutouts = "back wall"
bridged = "none"
may = "yes"
limiter = "yes"
cutouts_act = "yes"
contacts = "yes"
plan = "yes"
[electrical]
licence = "E. Lector, licence 4711"
instrument = "tester, calibrated 2026-01"
earth_ohm = 0.06
insulation_mohm = 12.5
rcd_ma = 22
rcd_ms = 28
"""


class Kitchen:
    """An oven whose probes a person may take out and hold into a bath."""

    def __init__(self):
        self.oven = oven.preset("standard", 1)
        self.bath_c = None

    def step(self, dt_s, heat):
        self.oven.step(dt_s, heat)

    def temperature_c(self, place):
        if self.bath_c is not None and place in ("dome", "stone"):
            return self.bath_c
        return self.oven.temperature_c(place)

    def true_c(self, place):
        return self.oven.true_c(place)

    def event(self, name, **values):
        self.oven.event(name, **values)

    def dip(self, bath_c):
        """An answer that moves the tips, then says Enter."""

        def moved():
            self.bath_c = bath_c
            return ""

        return moved


@pytest.fixture
def kitchen():
    return Kitchen()


@pytest.fixture
def board(kitchen):
    """An empty board, as bought."""
    if not sys.platform.startswith("linux"):
        pytest.skip("pseudo-terminal boards are for Linux")
    from host.board_pty import BoardPty
    from host.shim.remote import RuntimeMissing

    try:
        made = BoardPty(plant=kitchen, speed=SPEED)
    except RuntimeMissing as error:
        pytest.skip(str(error))
    with made:
        yield made


def commissioned(board):
    """Lay in the record that all witness steps leave behind, by the device's own code, and power it anew."""
    from host.pins import pin_map
    from host.shim.loader import world
    from host.simulator.first_files import first_files

    fs = first_files(world(), pin_map.read("boards/pico.py"), board.outside)
    for name, content in fs.files.items():
        (board.folder / name).write_bytes(bytes(content))
    board.power_cycle()


def typed_words(line):
    """`tizzone bake send rye-crisp` -> ("bake", "send"): the command and its act, where it has one."""
    words = line.split()[1:]
    return tuple(words[:2]) if words[0] in ("bake", "settings", "say") else tuple(words[:1])


@pytest.mark.slow
def test_guide_each_line_typed_leads_from_an_empty_folder_to_a_handed_back_oven(
    board, kitchen, typed, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    lines = []

    def type_line(line, code=0, answers=None, says=""):
        got = typed(*line.split()[1:], *(["--port", board.link] if needs_port(line) else []), answers=answers)
        lines.append(line)
        assert got == code, (line, typed.out[-1500:], typed.err)
        assert says in typed.out, (line, typed.out[-1500:])

    def needs_port(line):
        words = line.split()
        return (
            words[1] in ("deploy", "watch", "learn", "spot", "fetch", "say", "next", "settings", "commission")
            or (words[1] == "calibrate" or (words[1] == "bake" and words[2] not in ("list", "outlook")))
            and "--new-answers" not in words
        )

    monkeypatch.setattr("host.link.ports.attached", lambda: [])  # nothing is plugged in yet
    assert typed("next") == 0 and "step 1 of the guide comes next: tizzone plan --new hall.toml" in typed.out
    before_the_board(type_line, tmp_path)
    assert typed("next") == 0 and "step 4 of the guide comes next: tizzone deploy --board mine.py" in typed.out
    type_line("tizzone deploy --board mine.py", says="heat off")
    board.live(0.0)
    monkeypatch.setattr("host.link.client.LineClient", lambda port, reply_s: OnDevicesTime(board, port))
    type_line("tizzone next", says="tizzone calibrate --live")
    type_line("tizzone watch --samples 2", says="idle")
    baths = [kitchen.dip(0.8), kitchen.dip(98.9), "yes"]
    type_line("tizzone calibrate --live --altitude-m 540", answers=baths, says="stands still")
    kitchen.bath_c = None
    board.power_cycle()
    assert lived_until(board, lambda: typed("say", "permissives", "--port", board.link) == 0, 60.0)
    assert typed("settings", "show", "calibration", "--port", board.link) == 0 and "dome" in typed.out
    (tmp_path / "filled.toml").write_text(ANSWERS, encoding="utf-8")
    type_line("tizzone commission --record hall.record.json --sheet hall.toml --answers filled.toml --until electrical",
              says="2 of 10 steps done")  # fmt: skip
    commissioned(board)
    assert lived_until(
        board, lambda: typed("say", "status", "--port", board.link) == 0 and "armed" not in typed.out, 60.0
    )
    type_line("tizzone say status")
    assert "trip=none" in typed.out, (typed.out, board.events)
    type_line("tizzone settings set window_ms 20000")
    type_line("tizzone learn", answers=itertools.repeat("yes"), says="kept")  # presence is asked for again and again
    first_evening(type_line, board, typed)
    assert {kinds.kind_of(path) for path in tmp_path.glob("hall.*")} >= {
        kinds.BUILD_SHEET, kinds.PLAN_PAGE, kinds.COMMISSIONING, kinds.COMMISSIONING_PAGE
    }  # fmt: skip
    told = {typed_words(line) for line in re.findall(r"`(tizzone [^`]+)`", GUIDE)}
    assert told <= {typed_words(line) for line in lines}, "the guide names lines that were not typed"


def before_the_board(type_line, folder):
    """Steps 1 to 3, and the answers for paper."""
    type_line("tizzone plan --new blank.toml")
    type_line("tizzone plan --example hall.toml")
    type_line("tizzone plan hall.toml --page hall.plan.html --quick")
    type_line("tizzone plan --unverified")
    type_line(
        "tizzone rehearse --setpoint 60 --breads 0 --soak 1 --oven lamp --board boards/bench.py --out runs/practice"
    )
    type_line("tizzone drill --fault dome_open --oven lamp --phase cold --jobs 1", says="0 failed")
    type_line("tizzone boards --copy pico mine.py")
    type_line("tizzone pins mine.py --wanted 450 --draw wiring.svg --table")
    type_line("tizzone player map --board mine.py", says="then tizzone player load")
    type_line("tizzone commission --new-answers hall.answers.toml --sheet hall.toml")
    assert kinds.kind_of(folder / "hall.answers.toml") == kinds.ANSWERS


def first_evening(type_line, board, typed):
    """Steps 8 and 9: until the oven's own thermostat may have it."""
    type_line("tizzone bake list", says="rye-crisp")
    type_line("tizzone bake outlook rye-crisp", says="tizzone bake send")
    assert lived_until(board, lambda: idle(board, typed), 10 * HOUR_S, 60.0)
    type_line("tizzone bake send rye-crisp")
    type_line("tizzone bake start", answers=["yes"])
    type_line("tizzone watch --record runs/first --samples 3")
    type_line("tizzone spot 60")
    type_line("tizzone bake stop")
    type_line("tizzone note runs/first dough-62", says="dough-62")
    type_line("tizzone report runs/first", says="dough-62")
    type_line("tizzone fetch breads --out runs/first")
    type_line("tizzone evening runs/first", says="evening.md")
    type_line("tizzone fetch --out board")
    typed("report", "--history", "runs")
    type_line("tizzone explain undriven-rise")
    assert lived_until(
        board, lambda: typed("say", "handover", "--port", board.link) == 0, 10 * HOUR_S, 60.0
    ), typed.err  # fmt: skip
    type_line("tizzone say handover", says="turn the selector through OFF")
    type_line("tizzone next")


def idle(board, typed):
    """The board is idle again; a finished evening is set back."""
    typed("say", "status", "--port", board.link)
    if "state=complete" in typed.out or "state=stopped" in typed.out:
        typed("say", "reset", "--port", board.link)
    return "state=idle" in typed.out
