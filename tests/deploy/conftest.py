"""A board behind a pseudo-terminal: real MicroPython, where this machine has it."""

import contextlib
import sys

import pytest

from host.deploy import plan
from host.deploy.line import Timing
from host.deploy.run import deploy

# Short waits, since the simulated boards here live faster than a real one, and late ends, since a laptop may be busy.
QUICK = Timing(reply_s=0.3, quiet_s=0.9, boot_s=60.0, way_in_s=120.0, exec_s=60.0)


class FixedPlant:
    """A plant that stays at one temperature."""

    def __init__(self, dome_c=20.0):
        self.dome_c = dome_c

    def step(self, dt_s, heat):
        pass

    def temperature_c(self, place):
        return self.dome_c if place in ("dome", "stone") else 25.0

    def event(self, name, **values):
        pass


@pytest.fixture
def boards():
    """Call with BoardPty's arguments; skipped with a word where the unix port of MicroPython is not to be had."""
    if not sys.platform.startswith("linux"):
        pytest.skip("pseudo-terminal boards are for Linux")
    from host.board_pty.board import BoardPty
    from host.shim.remote import RuntimeMissing, find_micropython

    try:
        find_micropython()
    except RuntimeMissing as error:
        pytest.skip(str(error))
    with contextlib.ExitStack() as stack:
        yield lambda **options: stack.enter_context(BoardPty(**{"speed": 40.0, "plant": FixedPlant(), **options}))


@pytest.fixture
def load():
    """Deploy a plan to a board; what was done. The steps told are in `load.told`."""

    def run(board, plan, timing=QUICK, **options):
        run.told = []
        return deploy(board.link, plan, timing, say=run.told.append, **options)

    return run


@pytest.fixture(scope="session")
def pico():
    """The plan for a Pico."""
    return plan.make("boards/pico.py")


@pytest.fixture
def loaded(pico):
    """{path: bytes} of a board that has been loaded."""
    return {file.path: file.data for file in pico.files}


@pytest.fixture
def hot_plant():
    """A plant at a temperature."""
    return FixedPlant
