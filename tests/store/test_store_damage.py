"""Damaged, foreign, refused: never a wrong value, never an exception from load, nothing lost."""

import json
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from host.shim.simfs import EIO, ENOSPC

OLD, NEW = {"tripped": 0, "reason": "none"}, {"tripped": 1, "reason": "box_heat"}


@pytest.fixture
def whole(bench):
    """The files after two saves: OLD, then NEW."""
    bench.store().save("latch", OLD)
    bench.store().save("latch", NEW)
    return dict(bench.fs.files)


def crafted(module, name, sequence, payload):
    """A copy with a right checksum around any payload."""
    return module._line(name, sequence, payload)


def test_store_crc_matches_the_published_check_value(bench, new_module, monkeypatch):
    # Check value of CRC-32/ISO-HDLC over "123456789": catalogue of parametrised CRC algorithms
    assert bench.module.crc32(b"123456789") == 0xCBF43926
    import binascii

    monkeypatch.delattr(binascii, "crc32")
    fallback = new_module().crc32
    monkeypatch.undo()
    assert fallback(b"123456789") == 0xCBF43926
    assert fallback(b"") == 0
    data = bytes(range(256)) * 2
    assert fallback(data) == binascii.crc32(data)  # zlib's, an independent implementation


@pytest.mark.parametrize("end", ["a", "b"])
def test_store_any_byte_changed_gives_the_old_or_new_value_and_says_so(bench, whole, end):
    path = "latch." + end
    for at in range(len(whole[path])):
        for change in (1, 2, 4, 8, 16, 32, 64, 128, 255):  # each single bit, and all of them
            data = bytearray(whole[path])
            data[at] ^= change
            store = bench.restore({**whole, path: bytes(data)})
            value, status = store.load("latch")
            assert value in (OLD, NEW)
            assert status == "one_copy"


@pytest.mark.parametrize("end", ["a", "b"])
def test_store_any_truncation_or_extension_is_seen(bench, whole, end):
    path = "latch." + end
    shorter = [whole[path][:size] for size in range(len(whole[path]))]
    for data in [*shorter, whole[path] + b"\n", whole[path] + b"\x00" * 4000]:
        value, status = bench.restore({**whole, path: data}).load("latch")
        assert value in (OLD, NEW)
        assert status == "one_copy"


def test_store_both_copies_damaged_is_damaged_and_a_save_heals(bench, whole):
    store = bench.restore({path: data[:-1] for path, data in whole.items()})
    assert store.load("latch") == (None, "damaged")
    store.save("latch", NEW)
    assert bench.store().load("latch") == (NEW, "ok")


@pytest.mark.parametrize("gone", ["latch.a", "latch.b"])
def test_store_one_copy_gone_is_said_and_a_save_heals(bench, whole, gone):
    store = bench.restore({path: data for path, data in whole.items() if path != gone})
    value, status = store.load("latch")
    assert status == "one_copy"
    store.save("latch", value)  # unchanged, yet the second copy is due
    assert bench.store().load("latch") == (value, "ok")


def test_store_copy_of_another_name_is_not_taken(bench, whole):
    renamed = {path.replace("latch", "settings"): data for path, data in whole.items()}
    assert bench.restore(renamed).load("settings") == (None, "damaged")


def test_store_stale_copy_put_back_is_not_ok(bench, whole):
    store = bench.restore(whole)
    for number in range(4):
        store.save("latch", {"n": number})
    bench.fs.files["latch.b"] = whole["latch.b"]  # from an old backup
    value, status = store.load("latch")
    assert (value, status) == ({"n": 3}, "one_copy")
    bench.fs.files["latch.b"] = bench.fs.files["latch.a"]  # the same copy twice
    assert store.load("latch") == ({"n": 3}, "one_copy")


@pytest.mark.parametrize(
    ("a", "b", "newest", "status"),
    [(5, 6, 6, "ok"), (6, 5, 6, "ok"), (5, 7, 7, "one_copy"), (7, 5, 7, "one_copy"), (5, 5, 5, "one_copy"),
     (9999, 0, 0, "ok"), (0, 9999, 0, "ok"), (9998, 0, 0, "one_copy"), (0, 4999, 4999, "one_copy")],
)  # fmt: skip
def test_store_only_copies_that_follow_each_other_are_ok(bench, a, b, newest, status):
    line = '{"v": 1, "value": %d}'
    store = bench.restore(
        {f"session.{end}": crafted(bench.module, "session", n, line % n) for end, n in (("a", a), ("b", b))}
    )
    assert store.load("session") == (newest, status)


# the fixture is one board; every example gives it a new medium
@pytest.mark.slow
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(a=st.binary(max_size=200), b=st.binary(max_size=200))
def test_store_arbitrary_bytes_are_never_taken_for_a_value(bench, a, b):
    store = bench.restore({"settings.a": a, "settings.b": b})
    assert store.load("settings") == (None, "damaged")


@pytest.mark.parametrize(
    "payload",
    ["", "[]", "7", '{"v": 1}', '{"value": 1}', '{"v": "1", "value": 1}', '{"v": 0, "value": 1}',
     '{"v": 2, "value": 1}', '{"v": 1, "value": 1', "[" * 2000, "\x00"],
)  # fmt: skip
def test_store_right_checksum_around_nonsense_is_damaged(bench, payload):
    copy = crafted(bench.module, "settings", 1, payload)
    store = bench.restore({"settings.a": copy, "settings.b": copy})
    assert store.load("settings") == (None, "damaged")


def test_store_bytes_that_are_no_text_are_damaged(bench):
    store = bench.restore({"settings.a": b"TZ1 0001 00000000 \xff\xfe"})
    assert store.load("settings") == (None, "damaged")


def test_store_sequence_survives_its_wrap(bench):
    payload = '{"v": 1, "value": %d}'
    files = {
        "counters.a": crafted(bench.module, "counters", 9998, payload % 98),
        "counters.b": crafted(bench.module, "counters", 9999, payload % 99),
    }
    store = bench.restore(files)
    assert store.load("counters") == (99, "ok")
    for number in range(200):
        store.save("counters", number)
        assert bench.store().load("counters") == (number, "ok")
        assert len(bench.fs.files) == 2


def test_store_older_version_goes_through_the_migrations(bench):
    files = {
        "settings.a": crafted(bench.module, "settings", 1, '{"v": 1, "value": {"soak_min": 20}}'),
        "latch.a": crafted(bench.module, "latch", 1, '{"v": 1, "value": {"tripped": 1}}'),
    }
    store = bench.restore(files)
    bench.module.VERSION = 3
    bench.module.MIGRATIONS = (
        ("settings", 1, lambda value: {"soak_s": value["soak_min"] * 60}),
        ("settings", 2, lambda value: {**value, "breads": 6}),
    )
    assert store.load("settings") == ({"soak_s": 1200, "breads": 6}, "one_copy")
    assert store.load("latch")[0] == {"tripped": 1}
    store.save("settings", {"soak_s": 1200})
    assert store.load("settings") == ({"soak_s": 1200}, "ok")
    bench.module.MIGRATIONS = (("latch", 1, lambda value: value["absent"]),)
    assert store.load("latch") == (None, "damaged")


def test_store_unchanged_value_writes_nothing(bench, whole):
    store = bench.restore(whole)
    store.save("latch", NEW)
    assert bench.fs.units == 0
    bench.fs.files["latch.tmp"] = b""
    assert store.load("latch") == (NEW, "one_copy")  # a save was cut short
    store.save("latch", NEW)
    assert store.load("latch") == (NEW, "ok")


@pytest.mark.parametrize(
    "value",
    [{"x": math.nan}, [math.inf], -math.inf, {1: 2}, {"x": {2}}, b"x", object(),
     [[[[[[[[[["deep"]]]]]]]]]], {"x": "y" * 2048}, "é" * 1100],
)  # fmt: skip
def test_store_value_that_cannot_be_carried_is_refused_and_nothing_lost(bench, whole, value):
    store = bench.restore(whole)
    with pytest.raises(ValueError, match="store: latch"):
        store.save("latch", value)
    assert bench.fs.files == whole


def test_store_plain_values_come_back_as_they_were(bench):
    value = {"a": [1, -2.5, True, None, "°C", []], "b": {"c": {}}, "limit": "y" * 1900}
    bench.store().save("settings", value)
    assert bench.store().load("settings") == (json.loads(json.dumps(value)), "ok")


@pytest.mark.parametrize("code", [EIO, ENOSPC])
@pytest.mark.parametrize("after", range(4))
def test_store_refusal_once_is_overcome(bench, whole, code, after):
    store = bench.restore(whole)
    bench.fs.refuse(code, after=after)
    store.save("latch", {"n": 1})
    assert bench.store().load("latch") == ({"n": 1}, "ok")


@pytest.mark.parametrize("after", range(4))
def test_store_refusal_for_good_raises_one_error_and_keeps_the_newest(bench, whole, after):
    store = bench.restore(whole)
    bench.fs.refuse(EIO, times=99, after=after)
    with pytest.raises(bench.module.StoreError, match="not saved") as caught:
        store.save("latch", {"n": 1})
    assert isinstance(caught.value, OSError)
    assert bench.store().load("latch")[0] == NEW


def test_store_full_medium_gives_up_the_older_copy_first(bench, whole):
    store = bench.restore(whole)
    bench.fs.capacity = bench.fs.used()
    store.save("latch", {"n": 1})
    assert store.load("latch") == ({"n": 1}, "ok")
    bench.fs.capacity = 0
    with pytest.raises(bench.module.StoreError):
        store.save("latch", {"n": 2})
    # the save that failed leaves its mark: not "ok", so a latch is taken for latched
    assert store.load("latch") == ({"n": 1}, "one_copy")


def test_store_refusal_of_the_very_first_save_is_an_error_and_a_later_one_succeeds(bench):
    store = bench.store()
    bench.fs.refuse(EIO, times=2)
    with pytest.raises(bench.module.StoreError):
        store.save("latch", NEW)
    assert store.load("latch") == (None, "missing")
    store.save("latch", NEW)
    assert store.load("latch") == (NEW, "ok")


def test_store_flash_that_alters_what_is_written_is_noticed(bench, whole):
    store = bench.restore(whole)
    real_open = bench.module.io.open

    class Failing:
        @staticmethod
        def open(path, mode):
            file = real_open(path, mode)
            if "w" in mode:
                write = file.write
                file.write = lambda data: write(data[:-1] + b"?")
            return file

    bench.module.io = Failing
    with pytest.raises(bench.module.StoreError) as caught:
        store.save("latch", {"n": 1})
    assert caught.value.args[0] == EIO
    assert store.load("latch") == (NEW, "one_copy")


def test_store_read_error_is_damage_and_not_absence(bench, whole):
    store = bench.restore(whole)

    class Failing:
        @staticmethod
        def open(path, mode):
            raise OSError(EIO)

        @staticmethod
        def stat(path):
            raise OSError(EIO)

    bench.module.io = Failing
    assert store.load("latch") == (None, "damaged")
    bench.module.os = Failing
    assert store.load("counters") == (None, "damaged")
    assert list(store.read_log()) == []


def test_store_folder_is_made_once_and_used(bench):
    for _ in range(2):
        store = bench.module.Store("state")
        store.save("session", {"n": 1})
    assert sorted(bench.fs.files) == ["state/session.a", "state/session.b"]
    assert bench.module.Store("state").load("session") == ({"n": 1}, "ok")
