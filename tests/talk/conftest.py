"""A simulated board that the commands find on their port, and a person at the keyboard."""

import contextlib
import io

import pytest

from host import oven
from host.link.client import SimulatedClient
from host.simulator.rehearsal import Rehearsal
from tools import onboard
from tools.__main__ import main


class Bath:
    """A plant whose tips stand in one bath; the amplifier's box stays at 21 °C."""

    def __init__(self, dome_c=21.0):
        self.dome_c = dome_c

    def step(self, dt_s, heat):
        pass

    def temperature_c(self, place):
        return self.dome_c if place in ("dome", "stone") else 21.0

    def event(self, name, **values):
        pass


class Typed:
    """One command line after the other on one board; `code`, `out`, `err` of the last."""

    def __init__(self, capsys, monkeypatch):
        self.capsys = capsys
        self.monkeypatch = monkeypatch
        self.questions = []
        self.out = self.err = ""

    def __call__(self, *words, answers=None):
        """Type a command; `answers`: what the person says to each question, a text or a function that gives one."""
        given = iter(answers or ())

        def asked(question=""):
            self.questions.append(question)
            answer = next(given)
            return answer() if callable(answer) else answer

        self.monkeypatch.setattr("builtins.input", asked)
        self.monkeypatch.setattr("sys.stdin", Keyboard(answers is not None))
        try:
            code = main(list(words))
        except SystemExit as ended:
            code = ended.code
        self.out, self.err = self.capsys.readouterr()
        return code


class Keyboard(io.StringIO):
    """Somebody is there, or nobody."""

    def __init__(self, is_there):
        super().__init__()
        self.is_there = is_there

    def isatty(self):
        return self.is_there


@pytest.fixture
def typed(capsys, monkeypatch):
    """Call with the words of a command line; the exit code."""
    return Typed(capsys, monkeypatch)


@pytest.fixture
def on_port(monkeypatch):
    """Call with a plant and the Rehearsal's options: the board that open_board then gives, again and again."""
    with contextlib.ExitStack() as stack:

        def put(plant=None, settle_s=5.0, **options):
            rehearsal = Rehearsal(plant=plant or oven.preset("standard", 1), board="boards/pico.py", **options)
            stack.callback(rehearsal.close)
            rehearsal.advance(settle_s)

            @contextlib.contextmanager
            def again(name=None):
                yield SimulatedClient(rehearsal)

            monkeypatch.setattr(onboard, "open_board", again)
            monkeypatch.setattr("tools.next.open_board", again)
            return rehearsal

        yield put


@pytest.fixture
def baths():
    """Tips that a person dips from bath to bath."""

    class Baths(Bath):
        def dip(self, value_c):
            """An answer that moves the tips and then says Enter."""

            def moved():
                self.dome_c = value_c
                return ""

            return moved

    return Baths()
