import pytest

from host.shim.loader import world


@pytest.fixture(scope="session")
def tuning():
    return world().load("tizzone.tuning")


@pytest.fixture(scope="session")
def identify():
    return world().load("tizzone.identify")


@pytest.fixture(scope="session")
def judge():
    return world().load("tizzone.verdict")


@pytest.fixture(scope="session")
def fitting():
    return world().load("tizzone.modelfit")
