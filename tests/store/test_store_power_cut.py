"""The power is cut at every operation and every byte of every write, in each model."""

import pytest

from host.shim.simfs import MODELS, PowerCut

NAMES = ("settings", "latch", "session", "counters", "commission")
MOST_UNITS = 2_000  # of operations and bytes: a save that takes more does not end
# One evening of the village hall: what stands before a write and what the write brings.
STATES = {
    "settings": ({"setpoint_c": 450, "soak_s": 1200}, {"setpoint_c": 350, "soak_s": 600}),
    "latch": ({"tripped": 0, "reason": ""}, {"tripped": 1, "reason": "high_limit"}),
    "session": ({"state": "idle", "breads": 0}, {"state": "running", "breads": 6}),
    "counters": ({"hot_s": 86400, "trips": 3}, {"hot_s": 90000, "trips": 4}),
    "commission": ({"release_c": 260}, {"release_c": 480}),
}


def latched(loaded):
    """What the contract asks the supervisor to make of a loaded latch."""
    value, status = loaded
    return status != "ok" or bool(value["tripped"])


def save_cut(bench, name, value, units, model):
    """Save with a cut after so many units; -> whether the save came to its end."""
    store = bench.store()
    bench.fs.cut_after(units, model)
    try:
        store.save(name, value)
    except PowerCut:
        done = False
    else:
        done = True
    bench.fs.power_up()
    return done


def cuts(bench, files, name, value, model):
    """Yield (Store after the start, save done) for a cut at every unit, and once for none."""
    done, units = False, 0
    while not done:
        bench.restore(files)
        done = save_cut(bench, name, value, units, model)
        yield bench.store(), done
        units += 1
        assert units < MOST_UNITS


def written(bench, name, *values):
    """The files of a medium on which these values were saved in turn."""
    store = bench.restore({})
    for value in values:
        store.save(name, value)
    return bench.fs.files


@pytest.mark.slow
@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("name", NAMES)
def test_store_cut_anywhere_leaves_the_old_or_the_new_state(bench, name, model):
    old, new = STATES[name]
    for earlier in ((old,), (new, old), (old, new, old)):  # each of the two slots is the older one
        files = written(bench, name, *earlier)
        points = 0
        for store, done in cuts(bench, files, name, new, model):
            value, status = store.load(name)
            points += 1
            assert value in (old, new)
            assert status in ("ok", "one_copy")
            assert (value, status) == (new, "ok") or not done
            if status == "ok" and not done and bench.fs.files != files:
                assert value == new  # "ok" with the old value only where nothing had begun
        assert points > len(str(new))


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("name", NAMES)
def test_store_cut_in_the_first_save_leaves_nothing_or_the_new_state(bench, name, model):
    new = STATES[name][1]
    for store, done in cuts(bench, {}, name, new, model):
        value, status = store.load(name)
        if done:
            assert (value, status) == (new, "ok")
        elif value is None:
            assert status == ("damaged" if bench.fs.files else "missing")
        else:
            assert (value, status) in ((new, "one_copy"), (new, "ok"))


@pytest.mark.parametrize("model", MODELS)
def test_store_cut_in_the_save_of_a_trip_is_latched_from_the_first_unit_on(bench, model):
    clear, trip = STATES["latch"]
    files = written(bench, "latch", clear)
    forgotten = 0
    for store, _ in cuts(bench, files, "latch", trip, model):
        if not latched(store.load("latch")):
            forgotten += 1
            assert bench.fs.files == files  # nothing of the save had reached the medium
    assert forgotten == (1 if model == "old" else 0)


@pytest.mark.parametrize("model", MODELS)
def test_store_cut_in_an_acknowledge_stays_latched_until_it_is_complete(bench, model):
    clear, trip = STATES["latch"]
    files = written(bench, "latch", clear, trip)
    seen = [latched(store.load("latch")) for store, _ in cuts(bench, files, "latch", clear, model)]
    # the rename is the last unit: no cut before it may lift the latch
    assert all(seen[:-2])
    assert not seen[-1]


@pytest.mark.slow
@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("name", ["latch", "settings"])
def test_store_two_cuts_in_a_row_leave_the_old_or_the_new_state(bench, name, model):
    old, new = {"n": 0, "tripped": 0}, {"n": 1, "tripped": 1}  # short: the pairs are many
    files = written(bench, name, old)
    middles = []
    for _, done in cuts(bench, files, name, new, model):
        if not done and bench.fs.files not in middles:
            middles.append(dict(bench.fs.files))  # many cuts leave the same medium behind
    assert len(middles) >= (2 if model == "old" else 3)
    for middle in middles:
        for store, again in cuts(bench, middle, name, new, model):
            value, status = store.load(name)
            assert value in (old, new)
            assert (value, status) == (new, "ok") or not again
            if name == "latch" and middle != files:
                assert latched((value, status))


@pytest.mark.parametrize("model", MODELS)
def test_store_cut_while_healing_a_damaged_copy_keeps_the_whole_one(bench, model):
    clear, trip = STATES["latch"]
    whole = written(bench, "latch", trip, clear)
    for end in ("latch.a", "latch.b"):
        files = {**whole, end: whole[end][:20]}
        for store, done in cuts(bench, files, "latch", trip, model):
            loaded = store.load("latch")
            assert latched(loaded)
            assert loaded[0] in (clear, trip)
            assert loaded[1] == "ok" or not done


@pytest.mark.parametrize("model", MODELS)
def test_store_cut_while_a_full_medium_makes_room_keeps_a_trip(bench, model):
    clear, trip = STATES["latch"]
    files = written(bench, "latch", clear)
    units, done = 0, False
    while not done:
        store = bench.restore(files)
        bench.fs.capacity = bench.fs.used() + 8  # the temporary file does not fit
        bench.fs.cut_after(units, model)
        try:
            store.save("latch", trip)
            done = True
        except PowerCut:
            done = False
        bench.fs.power_up()
        store = bench.store()
        assert latched(store.load("latch")) or bench.fs.files == files
        assert store.load("latch")[0] in (clear, trip)
        units += 1
        assert units < MOST_UNITS
    assert store.load("latch") == (trip, "ok")


@pytest.mark.parametrize("model", MODELS)
def test_store_log_cut_anywhere_keeps_the_lines_before(bench, model):
    bench.store().log("door opened")
    files, units, done = dict(bench.fs.files), 0, False
    while not done:
        store = bench.restore(files)
        bench.fs.cut_after(units, model)
        try:
            done = store.log("heat off: stop pressed")
        except PowerCut:
            done = False
        bench.fs.power_up()
        store = bench.store()
        assert store.log("power is back")
        lines = list(store.read_log())
        assert lines[-1] == "power is back"
        if model in ("old", "new"):  # the harsh models may take the block that both lines share
            assert lines[0] == "door opened"
        assert all(len(line) <= 160 for line in lines)
        units += 1
        assert units < MOST_UNITS
