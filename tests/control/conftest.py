import pytest

from host.shim.loader import world


@pytest.fixture(scope="session")
def tuning():
    return world().load("tizzone.learning.tuning")


@pytest.fixture(scope="session")
def identify():
    return world().load("tizzone.learning.experiment")


@pytest.fixture(scope="session")
def judge():
    return world().load("tizzone.learning.judgement")


@pytest.fixture(scope="session")
def fitting():
    return world().load("tizzone.learning.model_fit")
