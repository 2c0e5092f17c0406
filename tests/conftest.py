"""What every folder of tests may ask for."""

import pytest

from host.shim.remote import RuntimeMissing, find_micropython


@pytest.fixture(scope="session")
def interpreter():
    """Path of the MicroPython unix port; without one the test is left out, which the summary says."""
    try:
        return find_micropython()
    except RuntimeMissing as error:
        pytest.skip(str(error))
