"""The simulated file system against the real one, and its power cuts against what their models say."""

import copy
import errno
import os

import pytest

from host.shim.simfs import EBADF, EINVAL, EIO, EISDIR, ENOENT, ENOSPC, MODELS, PowerCut, SimFS


class Real:
    """CPython's os and open below a folder, with the same calls."""

    def __init__(self, root):
        self.root = root
        self.io = self
        self.os = self

    def open(self, path, mode="r"):
        return open(self.root / path, mode)

    def __getattr__(self, name):
        function = getattr(os, name)
        return lambda *paths: function(*(self.root / path for path in paths))


def story(fs):
    """The same acts on either file system; -> everything that was seen."""
    seen = []

    def attempt(act):
        try:
            seen.append(act())
        except OSError as error:
            seen.append(error.args[0])

    fs.os.mkdir("state")
    attempt(lambda: fs.os.mkdir("state"))
    attempt(lambda: fs.os.mkdir("absent/deep"))
    attempt(lambda: fs.io.open("absent"))
    attempt(lambda: fs.io.open("absent/file", "w"))
    attempt(lambda: fs.io.open("state", "rb"))
    with fs.io.open("state/a", "wb") as file:
        seen.append(file.write(b"one\ntwo\nthree"))
    with fs.io.open("state/a", "ab") as file:
        file.write(b"\nfour")
        file.flush()
    with fs.io.open("state/a", "rb") as file:
        seen += [file.readline(), file.readline(2), file.read(3), file.read(), file.read()]
    with fs.io.open("state/a", "r") as file:
        seen += [file.readline(), list(file)]
    with fs.io.open("b", "w") as file:
        file.write("text")
    fs.os.rename("b", "state/a")
    attempt(lambda: fs.os.rename("b", "state/c"))
    with fs.io.open("state/a") as file:
        seen.append(file.read())
    seen += [fs.os.stat("state/a")[6], fs.os.stat("state/a")[0] & 0o170000, fs.os.stat("state")[0] & 0o170000]
    attempt(lambda: fs.os.stat("absent"))
    seen.append(sorted(fs.os.listdir("state")))
    attempt(lambda: fs.os.listdir("absent"))
    fs.os.remove("state/a")
    attempt(lambda: fs.os.remove("state/a"))
    seen.append(fs.os.listdir("state"))
    return seen


def test_simfs_does_what_the_real_file_system_does(tmp_path):
    assert story(SimFS()) == story(Real(tmp_path))


def test_simfs_error_numbers_are_those_of_the_operating_system():
    numbers = (ENOENT, EIO, EBADF, EISDIR, EINVAL, ENOSPC)
    names = ("ENOENT", "EIO", "EBADF", "EISDIR", "EINVAL", "ENOSPC")
    assert numbers == tuple(getattr(errno, name) for name in names)


def test_simfs_wrong_use_of_a_file_is_an_error():
    fs = SimFS()
    with fs.io.open("a", "wb") as file:
        with pytest.raises(OSError):
            file.read()
    with pytest.raises(OSError):
        file.write(b"closed")
    with pytest.raises(OSError):
        fs.io.open("a", "r+")
    with pytest.raises(ValueError, match="unknown model"):
        fs.cut_after(1, "gently")


def test_simfs_lists_kinds_and_sizes_and_counts_blocks():
    fs = SimFS(capacity=640, block=64)
    fs.os.mkdir("/state")
    with fs.io.open("/state/a", "wb") as file:
        file.write(b"x" * 65)
    assert list(fs.os.ilistdir()) == [("state", 0x4000, 0, 0)]
    assert list(fs.os.ilistdir("state")) == [("a", 0x8000, 0, 65)]
    assert fs.os.statvfs("/")[:5] == (64, 64, 10, 8, 8)
    with fs.io.open("b", "wb") as file:
        with pytest.raises(OSError):
            file.write(b"x" * 513)
        file.write(b"x" * 512)
    assert fs.os.statvfs("/")[3] == 0


def test_simfs_copy_of_a_board_goes_its_own_way():
    fs = SimFS()
    with fs.io.open("a", "wb") as file:
        file.write(b"both")
    other = copy.deepcopy(fs)
    with other.io.open("a", "wb") as file:
        file.write(b"other")
    assert fs.files == {"a": b"both"} and other.files == {"a": b"other"}


def rewritten(model, units):
    """A file of 24 old bytes rewritten with 24 new ones, cut after so many units; -> what is left."""
    fs = SimFS(block=16)
    with fs.io.open("a", "wb") as file:
        file.write(b"o" * 24)
    fs.cut_after(units, model)
    try:
        with fs.io.open("a", "wb") as file:
            file.write(b"n" * 24)
            file.flush()
    except PowerCut:
        for act in (lambda: fs.io.open("a", "rb"), lambda: fs.os.remove("a"), lambda: fs.os.stat("a")):
            with pytest.raises(PowerCut):
                act()
    fs.power_up()
    return fs.files["a"]


@pytest.mark.parametrize(
    ("model", "units", "left"),
    [
        ("old", 0, b"o" * 24),  # in opening
        ("old", 10, b"o" * 24),  # after nine bytes
        ("old", 25, b"o" * 24),  # in the flush
        ("old", 26, b"n" * 24),  # in the close: the flush has brought it
        ("new", 10, b"o" * 24),
        ("new", 25, b"n" * 24),
        ("truncated", 0, b""),
        ("truncated", 21, b"n" * 16),
        ("lost_block", 21, b"n" * 16 + b"\xff" * 4),
        ("lost_block", 27, b"n" * 24),  # all done: no cut
    ],
)
def test_simfs_cut_leaves_what_its_model_says(model, units, left):
    assert rewritten(model, units) == left


def test_simfs_garbage_is_seeded_and_spares_the_blocks_before():
    once, again = rewritten("garbage", 21), rewritten("garbage", 21)
    assert once == again and once[:16] == b"n" * 16 and len(once) == 20 and once[16:] != b"n" * 4


@pytest.mark.parametrize(
    ("model", "left"),
    [
        ("old", {"a": b"o" * 20, "t": b"n" * 20}),
        ("new", {"a": b"n" * 20}),
        ("truncated", {"t": b"n" * 20}),
        ("lost_block", {"a": b"n" * 16 + b"\xff" * 4}),
    ],
)
def test_simfs_cut_in_a_rename_leaves_what_its_model_says(model, left):
    fs = SimFS(block=16)
    fs.files = {"a": b"o" * 20, "t": b"n" * 20}
    fs.cut_after(0, model)
    with pytest.raises(PowerCut):
        fs.os.rename("t", "a")
    assert fs.files == left


@pytest.mark.parametrize("model", MODELS)
def test_simfs_every_unit_can_be_cut_and_none_is_left_out(model):
    cuts = 0
    while True:
        fs = SimFS()
        fs.cut_after(cuts, model)
        try:
            fs.os.mkdir("d")
            with fs.io.open("d/a", "w") as file:
                file.write("12345")
            fs.os.remove("d/a")
        except PowerCut:
            cuts += 1
            continue
        break
    assert cuts == fs.units == 1 + 1 + 5 + 1 + 1


def test_simfs_power_cut_is_no_error_that_device_code_could_catch():
    assert not issubclass(PowerCut, Exception)
