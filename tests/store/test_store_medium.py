"""What the store asks of its medium and makes of its errors: no more than a copy can have, and each by its number."""

import zlib

import pytest

from host.shim.simfs import ENOENT


@pytest.mark.parametrize("size", [40, 2066, 2067, 5000])
def test_store_reads_no_more_than_a_copy_can_have(bench, size):
    store = bench.restore({"plan.a": b"T" * size})
    sizes, real = [], bench.module.io.open

    class Watched:
        @staticmethod
        def open(path, mode):
            file = real(path, mode)
            read = file.read
            file.read = lambda size=-1: (sizes.append(size), read(size))[1]
            return file

    bench.module.io = Watched
    assert store.load("plan") == (None, "damaged")
    assert sizes == [min(size, 18 + 2048 + 1)]


@pytest.mark.parametrize("end", ["a", "b"])
def test_store_one_damaged_copy_and_none_beside_it_is_damage_and_not_absence(bench, end):
    assert bench.restore({"plan." + end: b"junk"}).load("plan") == (None, "damaged")


@pytest.mark.parametrize("value", range(8))
def test_store_copy_carries_the_checksum_of_name_number_and_payload(bench, value):
    bench.store().save("plan", value)
    for path, number in (("plan.a", "0000"), ("plan.b", "0001")):
        payload = f'{{"v": 1, "value": {value}}}'
        crc = zlib.crc32(f"plan {number} {payload}".encode())  # zlib's, an independent implementation
        assert bench.fs.files[path] == f"TZ1 {number} {crc:08X} {payload}".encode()


class Worded:
    """`os` and `io` whose errors have words behind their number, as some ports give them."""

    def __init__(self, code):
        self.code = code

    def stat(self, path):
        raise OSError(self.code, "in words")

    def open(self, path, mode):
        raise OSError(self.code, "in words")


def test_store_error_with_words_is_read_by_its_number(bench):
    store = bench.store()
    bench.module.os = bench.module.io = Worded(ENOENT)
    assert bench.module.exists("plan.a") is False
    assert store.load("plan") == (None, "missing")
    with pytest.raises(bench.module.StoreError) as caught:
        store.save("plan", 1)
    assert caught.value.args == (ENOENT, "store: plan: not saved")


def test_store_log_of_many_short_lines_is_read_to_its_end(bench):
    bench.fs.files["log.a"] = b"x\n" * 2000
    assert list(bench.store().read_log()) == ["x"] * 2000
