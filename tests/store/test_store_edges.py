"""Bounds of the store, each at just below, at, and just above: bytes of a value, its depth, lines of the log."""

import pytest

from host.shim.simfs import EIO


def payload_of(size):
    """A value whose payload has so many bytes."""
    return "x" * (size - len('{"v": 1, "value": ""}'))


@pytest.mark.parametrize(("size", "fits"), [(2047, True), (2048, True), (2049, False)])
def test_store_value_of_two_kilobytes_is_kept_and_of_one_byte_more_refused(bench, size, fits):
    store = bench.store()
    if not fits:
        with pytest.raises(ValueError, match="over 2048 bytes"):
            store.save("plan", payload_of(size))
        assert bench.fs.files == {}
        return
    store.save("plan", payload_of(size))
    assert bench.store().load("plan") == (payload_of(size), "ok")
    assert {len(data) for data in bench.fs.files.values()} == {size + 18}


@pytest.mark.parametrize("size", [30, 2048])
def test_store_byte_behind_a_whole_copy_is_damage_whatever_its_size(bench, size):
    bench.store().save("plan", payload_of(size))
    files = {path: data + b" " for path, data in bench.fs.files.items()}
    assert bench.restore(files).load("plan") == (None, "damaged")


@pytest.mark.parametrize("kind", [list, tuple, dict])
@pytest.mark.parametrize(("levels", "fits"), [(8, True), (9, False)])
def test_store_value_is_eight_levels_deep_and_no_deeper(bench, kind, levels, fits):
    value = 1
    for _ in range(levels):
        value = {"a": value} if kind is dict else kind([value])
    store = bench.store()
    if fits and kind is not dict:
        store.save("plan", value)
        assert store.load("plan")[1] == "ok"
    elif not fits:
        with pytest.raises(ValueError, match="not a plain value"):
            store.save("plan", value)


@pytest.mark.parametrize("levels", [4, 5])
def test_store_table_counts_twice_its_own_level_and_that_of_its_values(bench, levels):
    value = 1
    for _ in range(levels):
        value = {"a": value}
    if levels == 4:
        bench.store().save("plan", value)
        assert bench.store().load("plan") == (value, "ok")
    else:
        with pytest.raises(ValueError, match="not a plain value"):
            bench.store().save("plan", value)


@pytest.mark.parametrize("value", [[1, float("nan")], [float("nan"), 1], {"a": 1, "b": float("inf")}, {"a": 1, 2: 1}])
def test_store_one_bad_part_is_enough_to_refuse(bench, value):
    with pytest.raises(ValueError, match="store: plan: not a plain value"):
        bench.store().save("plan", value)


@pytest.mark.parametrize("value", [None, True, 0, -1, 1.5, "", [], {}, [None], {"a": None}])
def test_store_every_plain_value_is_kept(bench, value):
    bench.store().save("plan", value)
    assert bench.store().load("plan") == (value, "ok")


def test_store_first_save_lays_down_both_copies_in_sequence(bench):
    bench.store().save("plan", 1)
    assert sorted(bench.fs.files) == ["plan.a", "plan.b"]
    assert [bench.fs.files[path][:9] for path in ("plan.a", "plan.b")] == [b"TZ1 0000 ", b"TZ1 0001 "]


def test_store_save_replaces_the_older_copy_and_never_the_newest(bench):
    store = bench.store()
    store.save("plan", 1)
    before = dict(bench.fs.files)
    store.save("plan", 2)
    assert bench.fs.files["plan.b"] == before["plan.b"] and bench.fs.files["plan.a"][:9] == b"TZ1 0002 "
    store.save("plan", 3)
    assert bench.fs.files["plan.a"][:9] == b"TZ1 0002 " and bench.fs.files["plan.b"][:9] == b"TZ1 0003 "
    assert "plan.tmp" not in bench.fs.files


@pytest.mark.parametrize(("length", "kept"), [(159, 159), (160, 160), (161, 160)])
def test_store_log_line_has_160_characters_and_no_more(bench, length, kept):
    store = bench.store()
    store.log("y" * length)
    assert list(store.read_log()) == ["y" * kept]


def test_store_log_begins_a_line_of_its_own_after_a_start_and_only_then(bench):
    bench.fs.files["log.a"] = b"cut in mid-li"
    store = bench.store()
    store.log("one")
    store.log("two")
    assert bench.fs.files["log.a"] == b"cut in mid-li\none\ntwo\n"


def test_store_log_refused_line_leaves_the_next_one_on_a_line_of_its_own(bench):
    store = bench.store()
    bench.fs.refuse(EIO)
    assert store.log("one") is False
    assert store.log("two") is True
    assert bench.fs.files["log.a"] == b"\ntwo\n"


@pytest.mark.parametrize(("byte", "shown"), [(31, "?"), (32, " "), (126, "~"), (127, "?")])
def test_store_log_shows_printable_ascii_and_nothing_else(bench, byte, shown):
    bench.fs.files["log.a"] = b"a" + bytes([byte]) + b"b\n"
    assert list(bench.store().read_log()) == ["a" + shown + "b"]


def test_store_log_of_the_older_file_is_read_first_and_the_other_where_it_cannot_be(bench):
    bench.fs.files.update({"log.b": b"old\n\n", "log.a": b"new\n"})
    store = bench.store()
    assert list(store.read_log()) == ["old", "new"]
    del bench.fs.files["log.b"]
    assert list(store.read_log()) == ["new"]


def test_store_log_of_empty_lines_alone_ends(bench):
    bench.fs.files["log.a"] = b"\n" * 4096 + b"behind the last byte of a log\n"
    assert list(bench.store().read_log()) == []


def test_store_in_a_folder_keeps_its_log_there_too(bench):
    store = bench.module.Store("state")
    store.log("one")
    store.log("two")
    assert sorted(bench.fs.files) == ["state/log.a"]
    assert list(bench.module.Store("state").read_log()) == ["one", "two"]


def test_store_whether_something_is_there_is_yes_where_it_cannot_be_told(bench):
    bench.store()
    bench.fs.files["plan.a"] = b""
    assert bench.module.exists("plan.a") is True
    assert bench.module.exists("plan.b") is False

    class Failing:
        @staticmethod
        def stat(path):
            raise OSError(EIO)

    bench.module.os = Failing
    assert bench.module.exists("plan.b") is True
