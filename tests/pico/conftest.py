"""Rigs for the tests on the real firmware; left out, with one line, where firmware or emulator is missing."""

import contextlib

import pytest

from host.deploy import plan
from tests.pico.image import NoFirmware, loaded
from tests.pico.records import released
from tests.pico.rig import Rig, ready


@pytest.fixture(scope="session", autouse=True)
def firmware_is_here():
    """Skip everything here, with the reason, unless a rig can be made."""
    try:
        ready()
    except NoFirmware as error:
        pytest.skip(str(error))


@pytest.fixture(scope="session")
def sources():
    """The plan of a Pico from source."""
    return plan.make("boards/pico.py")


@pytest.fixture(scope="session")
def compiled():
    """The plan of a Pico with compiled modules: it starts faster, and here a second of it costs two."""
    return plan.make("boards/pico.py", is_compiled=True)


@pytest.fixture
def rigs():
    """Call with a plan (or None), more files and Rig's arguments."""
    with contextlib.ExitStack() as stack:
        yield lambda made, more=None, **options: stack.enter_context(Rig(loaded(made, more), **options))


@pytest.fixture
def armed(rigs, compiled):
    """Call for a compiled board, released to 480 °C, that has armed; more files and Rig's arguments may be given."""

    def make(more=None, **options):
        rig = rigs(compiled, {**released(), **(more or {})}, **options)
        assert rig.boots_and_arms() is not None, rig.serial[-5:]
        return rig

    return make
