"""The whole rehearsal with the device's own code on a simulated oven."""

import copy

import numpy as np
import pytest

from host.link.frames import crc16, with_checksum
from host.oven import preset
from host.simulator.rehearsal import Rehearsal

FAST = {"setpoint_c": 120, "soak_min": 0, "breads": 1, "bake_s": 30}


def rehearse(**options):
    options.setdefault("settings", FAST)
    options.setdefault("plant", preset("light", seed=3))
    return Rehearsal(**options)


def test_crc_matches_its_published_check_value():
    # CRC-16/CCITT-FALSE of "123456789": 0x29B1 (catalogue of parametrised CRC algorithms, from memory)
    assert crc16("123456789") == 0x29B1
    assert with_checksum("123456789") == "123456789|29B1"
    assert with_checksum("123456789|29B1") == "123456789|29B1"


@pytest.mark.parametrize("runtime", ["cpython", "micropython"])
def test_rehearsal_answers_and_keeps_one_row_a_second(runtime):
    with rehearse(runtime=runtime) as run:
        run.advance(8)
        reply = run.send("status")
        assert reply.startswith("~ok ") and "*" not in reply
        assert run.send("gibberish").startswith("~no ")
        assert run.send("status|0000").startswith("~no ")
        run.advance(20)
        rows = run.rows
        assert 0 <= rows["t_s"][0] < 4  # the grace window passes before the first report
        assert abs(len(rows) - 1 - (run.now_s - rows["t_s"][0])) < 1
        np.testing.assert_allclose(np.diff(rows["t_s"]), 1.0, atol=0.3)
        assert np.all(rows["heat_top"] == 0) and set(rows["state"][5:]) == {"idle"}


@pytest.mark.slow
def test_evening_with_one_bread_runs_through_with_the_cook():
    with rehearse() as run:
        run.advance(8)
        assert run.send("start") == "~ok"
        for _ in range(60):
            run.advance(60)
            if run.state == "complete":
                break
        stages = [event["value"] for event in run.events if event["kind"] == "stage"]
        assert [s for s in ("preheat", "load", "bake", "cool") if s in stages] == ["preheat", "load", "bake", "cool"]
        kinds = [event["kind"] for event in run.events]
        assert kinds.index("door") < kinds.index("load") and run.cook.breads == 1
        assert run.state == "complete" and run.trip == "none"
        assert "refused" not in kinds and "crash" not in kinds
        assert run.rows["pv_c"].max() > 110


@pytest.mark.slow
def test_both_runtimes_give_the_same_rows_and_events():
    found = []
    for runtime in ("cpython", "micropython"):
        with rehearse(runtime=runtime, faults=["relay_welded_top@40"], plant=preset("light", seed=3)) as run:
            run.advance(8)
            run.send("start")
            run.advance(120)
            found.append((run.rows.copy(), run.events, run.lines))
    first, second = found
    assert first[1:] == second[1:]
    for name in first[0].dtype.names:
        if first[0][name].dtype.kind == "f":
            np.testing.assert_allclose(first[0][name], second[0][name], rtol=0, atol=0.01, err_msg=name)
        else:
            np.testing.assert_array_equal(first[0][name], second[0][name], err_msg=name)


def test_copy_of_a_warm_rehearsal_goes_its_own_way():
    with rehearse() as run:
        run.advance(8)
        run.send("start")
        run.advance(100)
        twin = copy.deepcopy(run)
        twin.send("stop")
        twin.advance(60)
        assert run.state == "running" and twin.state != "running"
        again = copy.deepcopy(run)
        run.advance(60)
        again.advance(60)
        assert run.rows.tobytes() == again.rows.tobytes()


def test_new_board_is_not_commissioned():
    with rehearse(commissioned=False) as run:
        run.advance(8)
        assert "release_mc=60000" in run.send("status")
    with rehearse(settings=None) as run:
        run.advance(8)
        assert "release_mc=480000" in run.send("status")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"runtime": "python2"}, "unknown runtime 'python2'"),
        ({"board": "nowhere"}, "no board 'nowhere'"),
        ({"faults": ["nothing@5"]}, "unknown fault 'nothing'"),
        ({"settings": {"setpoint_c": 9000}}, "setpoint_c must lie within"),
        ({"settings": {"colour": 1}}, "colour is not known"),
    ],
)
def test_bad_request_is_one_clear_line(options, words):
    with pytest.raises(ValueError, match=words) as caught:
        rehearse(**options)
    assert "\n" not in str(caught.value)
