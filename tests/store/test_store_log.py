"""The event log: bounded, printable, in order, never in the way."""

import pytest

from host.shim.simfs import ENOSPC


def test_store_log_is_bounded_printable_and_in_order(bench):
    store = bench.store()
    for number in range(400):
        assert store.log(f"event {number:04d} \x03\x04\n é {'x' * (number % 200)}")
        assert all(len(data) <= 4096 for data in bench.fs.files.values())
    assert sorted(bench.fs.files) == ["log.a", "log.b"]
    lines = list(store.read_log())
    numbers = [int(line.split()[1]) for line in lines]
    assert numbers == list(range(numbers[0], 400))
    assert len(numbers) > 40
    assert all(line.isascii() and line.isprintable() and len(line) <= 160 for line in lines)


@pytest.mark.parametrize(("room", "files"), [(4, ["log.a"]), (3, ["log.a", "log.b"])])
def test_store_log_fills_a_file_to_its_last_byte_and_no_further(bench, room, files):
    store = bench.restore({"log.a": b"x" * (4096 - room)})
    store.log("ab")  # with the line end of a possibly cut line before, and its own: 4 bytes
    assert sorted(bench.fs.files) == files


def test_store_log_refused_says_so_and_raises_nothing(bench):
    store = bench.store()
    bench.fs.refuse(ENOSPC)
    assert store.log("one") is False
    assert store.log("two") is True
    assert list(store.read_log()) == ["two"]


def test_store_log_of_damaged_bytes_is_read_in_bounded_lines(bench):
    store = bench.restore({"log.b": b"\n" * 5000, "log.a": bytes(range(256)) * 20 + b"\nfine"})
    lines = list(store.read_log())
    assert lines[-1] == "fine"
    assert all(len(line) <= 161 and line.isprintable() for line in lines)
