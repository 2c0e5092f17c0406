"""Scenes to practise: played to their end on both runtimes; the panel's timing is the same at any speed."""

import json
import urllib.error
import urllib.request

import pytest
from panel_bench import Kettle

from host.panel.practise import KEYS, Practice, played
from host.panel.practise_page import PractisePage
from host.panel.scenes import SCENES
from host.panel.view import braille
from host.runs.summary import sentences
from tools import ToolError
from tools.practise import add_arguments as add_practise_arguments
from tools.practise import keys_of, rounds, run

QUICK = {"setpoint_c": 100, "soak_min": 1, "bake_s": 30, "breads": 2}


def practice(name, runtime="cpython"):
    """A scene on a plant that does at once what it is told."""
    return Practice(name, runtime=runtime, plant=Kettle(), settings=QUICK)


ENDS = {
    "first-heat": ("soak", "none"), "six-breads": ("complete", "none"), "door-left-open": ("running", "none"),
    "lost-probe": ("aborted", "probe-open"), "welded-relay": ("aborted", "relay-welded"),
    "power-cut": ("aborted", "power-cut"),
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("runtime", ["cpython", "micropython"])
@pytest.mark.parametrize("name", SCENES)
def test_scene_is_played_to_its_end_on_both_runtimes(name, runtime):
    scene = practice(name, runtime)
    try:
        for _ in played(scene, 2000):
            pass
        evening = scene.rehearsal
        state, trip = ENDS[name]
        assert state in (evening.state, evening.stage)
        assert evening.trip == trip
        if trip != "none":
            assert not evening.rows["permit"][-1] and not evening.rows["heat_top"][-2:].any()
            assert any(f"trip: {sentences()[trip]}" in line for line in scene.board_did())
        assert scene.words()[-1] == "This scene is over."
    finally:
        scene.close()


@pytest.mark.slow
def test_same_hand_at_one_and_at_sixty_times_sees_the_same_pictures():
    seen = {}
    for speed in (1, 60):
        scene = Practice("first-heat", speed, plant=Kettle(), settings=QUICK)
        now_s, found = [0.0], []

        class Keys:
            """Presses a key at simulated seconds, whatever the speed."""

            script = {2: "k", 8: "k", 14: ">", 20: "k", 26: "q"}

            def read(self, scene=scene, found=found):
                at_s = round(scene.rehearsal.now_s - scene.began_s)
                found.append((at_s, scene.hand.image().copy()))
                return "".join(self.script.pop(key) for key in sorted(self.script) if key <= at_s)

        def sleep(_, now_s=now_s, speed=speed):
            now_s[0] += 1.0 / speed  # a simulated second a look

        keys = Keys()
        keys.script = dict(Keys.script)
        rounds(scene, keys, None, clock=lambda now_s=now_s: now_s[0], sleep=sleep)
        seen[speed] = dict(found)
        assert scene.rehearsal.state == "running"  # started by push, push, turn, push at either speed
    assert set(seen[1]) == set(seen[60]) and len(seen[1]) > 20
    for at_s, frame in seen[1].items():
        assert (frame == seen[60][at_s]).all()


def test_wrong_answer_is_told_what_is_right_and_why():
    scene = practice("first-heat")
    scene.scene = SCENES["welded-relay"]
    scene.trouble_s, scene.answer = scene.rehearsal.now_s, 1
    words = " ".join(scene.words())
    assert "No: 2 would be right" in words and "unplug" in words
    scene.answer = 2
    assert "Yes." in scene.words()[1]


def test_every_question_has_its_right_answer_among_those_that_keys_give():
    for scene in SCENES.values():
        if scene.question:
            assert 1 <= scene.question.right <= len(scene.question.answers) == 3
    assert {"1", "2", "3"} <= set(KEYS)


def test_stop_key_takes_the_heat_off_and_arrows_turn_the_knob():
    scene = practice("first-heat")
    scene.rehearsal.send("start")
    scene.live(8)
    assert scene.rehearsal.state == "running"
    scene.press("x")
    scene.live(1)
    assert scene.rehearsal.state == "stopping"
    assert keys_of("\x1b[Ck\x1b[D") == ">k<"


def test_braille_shows_every_point():
    scene = practice("first-heat")
    scene.live(3)
    frame = scene.hand.image()
    text = braille(frame)
    dots = sum((ord(cell) - 0x2800).bit_count() for cell in text if cell != "\n")
    assert dots == frame.sum() > 100
    assert [len(line) for line in text.split("\n")] == [64] * 16


@pytest.mark.parametrize(
    "words", [["--scene", "no-such"], ["--speed", "61"], ["--loaded"], ["--json"], ["--speed", "0"]]
)
def test_wrong_use_gets_one_line(words):
    import argparse

    parser = argparse.ArgumentParser()
    add_practise_arguments(parser)
    with pytest.raises(ToolError):
        run(parser.parse_args(words))


def asked(url, data=None, **headers):
    """(code, text) of a request."""
    request = urllib.request.Request(url, data, headers)
    try:
        with urllib.request.urlopen(request, timeout=60) as reply:
            return reply.status, reply.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode()


def test_page_of_practise_shows_the_display_and_takes_keys_from_itself_alone():
    page = PractisePage()
    try:
        scene = practice("first-heat")
        scene.live(3)
        page.show(scene)
        state = json.loads(asked(page.url + "state.json")[1])
        assert [len(row) for row in state["rows"]] == [128] * 64
        assert "first heat" in state["words"][0]
        assert asked(page.url)[0] == 200 and "<main>" in asked(page.url)[1]
        assert asked(page.url + "key", b"", **{"X-Key": "%3E"})[0] == 200
        assert page.keys() == ">"
        for headers in ({}, {"X-Key": "z"}, {"X-Key": "k", "Origin": "http://elsewhere.example"},
                        {"X-Key": "k", "Host": "elsewhere.example"}):  # fmt: skip
            assert asked(page.url + "key", b"", **headers)[0] == 403
        assert page.keys() == ""
        assert asked(page.url + "other")[0] == 404
    finally:
        page.close()
