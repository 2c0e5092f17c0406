"""Two emulated boards for the tests that need them; left out, with one line, where the emulator is missing."""

import contextlib

import pytest

from host.deploy import plan
from host.pins import pin_map
from host.player.bench import Bench
from host.player.harness import Harness
from host.player.stand import small_lamp
from host.player.talk import BoardLine
from host.player.wire import PlayerClient
from host.simulator.assembly import assembled
from tests.pico.image import NoFirmware, loaded
from tests.pico.records import released
from tests.pico.rig import ready
from tests.player.duo import Duo, Port, player_files

SETTINGS = {"setpoint_c": 50, "soak_min": 0, "window_ms": 4000, "bake_s": 15, "cool_c": 40}
small = small_lamp  # the plant of these tests


@pytest.fixture(scope="session")
def harness():
    """Of a Pico in full wiring."""
    return Harness(pin_map.read("pico"))


@pytest.fixture(scope="session")
def images():
    """(board with its program, released to 60 °C; player with its own)."""
    try:
        ready()
    except NoFirmware as error:
        pytest.skip(str(error))
    board = loaded(plan.make("boards/pico.py", is_compiled=True), released(release_c=60, settings=SETTINGS))
    return board, loaded(None, player_files())


@pytest.fixture
def duos(harness, images):
    """Call for a Duo; `board`, `player`: other images."""
    with contextlib.ExitStack() as stack:
        yield lambda board=None, player=None: stack.enter_context(Duo(harness, board or images[0], player or images[1]))


def joined(duo, harness, plant=None):
    """A Bench on a Duo that has begun."""
    outside = assembled(harness.pins, plant or small(), 1)
    line = BoardLine(lambda: Port(duo, "board"), lambda: duo.t)
    bench = Bench(harness, PlayerClient(Port(duo, "player"), lambda: duo.t), line, outside, lambda: duo.t, duo.run)
    duo.until(lambda: duo.usb["player"], 3)
    duo.run(0.2)
    bench.begin()
    return bench


def armed(bench):
    """Whether the board arms within twenty seconds."""
    return bench.until(lambda: bench.status and "armed" not in bench.status["missing"], 20)
