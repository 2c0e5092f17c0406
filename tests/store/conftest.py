"""Loads the board's store on a simulated file system, as a board of its own each time."""

import pytest

from host.shim.loader import world
from host.shim.simfs import SimFS


def load_module():
    """A fresh copy of the device module `store`, as after a reset."""
    return world().run_file("tizzone/memory/store")


class Bench:
    """A board's medium and the module that uses it."""

    def __init__(self):
        self.module = load_module()
        self.insert(SimFS())

    def insert(self, fs):
        """Use this medium; -> a Store on it."""
        self.fs = fs
        self.module.os, self.module.io = fs.os, fs.io
        return self.store()

    def store(self):
        """A Store as after a start of the board."""
        return self.module.Store()

    def restore(self, files):
        """A medium with exactly these files; -> a Store on it."""
        fs = SimFS(block=16)  # small against a copy, so that a lost block is not the whole of it
        fs.files = dict(files)
        return self.insert(fs)


@pytest.fixture
def bench():
    """A board with an empty medium."""
    return Bench()


@pytest.fixture
def new_module():
    """Loads the module anew."""
    return load_module
