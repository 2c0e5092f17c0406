"""Reading test by rule: on each screen of the panel, in each state, words answer within ten seconds: what is it doing,
what must I do, when next. The tables are written by hand: a word that stands in none of them is no answer.
"""

import re

import pytest
from panel_bench import MODES, app_of, evening

from host.shim.loader import world

WORLD = world()
CANVAS = WORLD.load("tizzone.panel.canvas")
LIMITS = WORLD.load("tizzone.safety.limits")
MENU = WORLD.load("tizzone.panel.menu")
PAGES = WORLD.load("tizzone.panel.pages")
SCREENS = WORLD.load("tizzone.panel.screens")
S = WORLD.load("tizzone.evening.sequence")
LOOK_S = 10  # "floury hands and ten seconds"
READ_S = 40  # a trip is read page by page, with the heat off

# What is it doing: the word of each state, or of the stage where an evening is under way.
STATES = {
    S.IDLE: "idle", S.STOPPING: "cooling", S.STOPPED: "stopped", S.COMPLETE: "done", S.ABORTED: "tripped",
    S.HELD: "held",
}  # fmt: skip
STAGES = {
    S.PROVE: "test", S.PREHEAT: "preheat", S.SOAK: "soak", S.LIFT: "lift", S.LOAD: "load 99", S.BAKE: "bake 99",
    S.RECOVER: "recover", S.REST: "rest", S.LEARN: "learn",
}  # fmt: skip
# What must I do: the words, and whether they ask for a hand or say that there is nothing to do but wait.
DO = {
    "LAY BREAD 99": "act", "TAKE BREAD OUT": "act", "out in": "wait", "next bread in": "wait", "ready in": "wait",
    "leg done in": "wait", "say: resume": "act", "wait: test": "wait", "wait: learning": "wait",
    "let it cool": "wait", "all is ready": "wait", "stay: confirm": "act", "PULL THE PLUG": "act",
    "shut the door": "act", "close ENABLE": "act", "turn it to OURS": "act", "check the probe": "act",
    "find the cause": "act", "start again": "act", "acknowledge": "act", "TRIP: page one": "act",
}  # fmt: skip
# When next: a time, or the event that it waits for.
WHEN = (
    r"~?\d:\d\d", r"~?\d\d min", "over 90 min", "not known yet", "now", "start any time", "then start", "then resume",
    "heat goes on", "to go on", "a minute", "ends by itself", r"below \d+ [CF]", "say: it is in", "then shut door",
    "heat is off", r"heat off: \d:\d\d", r"next ~?(\d:\d\d|\d\d min)",
)  # fmt: skip


@pytest.fixture
def app():
    """The device's App of an idle oven, somebody about to be asked for."""
    app = app_of(evening()[0])
    app.supervisor.attendance.alone_ms = app.supervisor.attendance.soon_ms
    return app


def situations(app):
    """Every state with every stage, some permissives missing, hot and cold, a bread just baked, a person asked for."""
    seen = app.seen
    for state in range(len(S.STATES)):
        for stage in range(len(S.STAGES)):
            if state in (S.RUNNING, S.HELD) and stage in (S.NO_STAGE, S.COOL):
                continue  # an evening is never there
            for missing, ready_s, pv_mc, since_ms, asked in (
                ("", -1.0, 20_000, 10**9, 0), ("", 70.0, 447_000, 10**9, 0), ("", 70.0, 447_000, 10**9, 1),
                ("", 5_400.0, 300_000, 5, 0), ("", 70.0, 300_000, 10**9, 0), ("enable", 70.0, 447_000, 10**9, 0),
                ("selector_ours", -1.0, 447_000, 10**9, 0), ("door_shut", 70.0, 300_000, 10**9, 0),
                ("door_shut", 70.0, 300_000, 5, 0),
            ):  # fmt: skip
                app.sequence.state, app.sequence.stage, app.sequence.stage_ms = state, stage, 1000
                app.sequence.breads_done, app.sequence.bakes = 98, 0 if pv_mc == 300_000 and not missing else 1
                app.evening.forecast.ready_s, app.dome.pv_mc = ready_s, pv_mc
                app.evening.since_bread_ms = since_ms
                app.supervisor.present[LIMITS.ATTEND_SOON] = asked
                for name in ("enable", "selector_ours", "door_shut"):
                    setattr(seen, name, 0 if name == missing else 1)
                yield state, stage


def screens(app):
    """{name: bands at a second} of all that can be on the glass now."""
    found = {}
    for number, name in enumerate(("main", "stone", "breads", "needs", "oven", "board")):
        found[name] = lambda second, number=number: PAGES.show(app, number, second)
    for mode in (MENU.LIST, MENU.CONFIRM, MENU.SETPOINT, MENU.VERDICT, MENU.NOTE):
        menu = MENU.Menu()
        menu.mode, menu.items, menu.at = mode, MENU.choices(app), 0
        menu.title, menu.lines = "NOT DONE", ["no bread is due", "(preheat)"]

        def shown(second, menu=menu):
            menu.still_ms = 1000 * second
            return menu.bands(app, 0)

        found[MODES[mode]] = shown
    return found


def lines_of(bands_at, seconds):
    """The texts that a person reads in so many seconds, each as it stands in one place; for LOOK_S, every place."""
    read = set()
    for second in range(0, seconds, SCREENS.ALTERNATE_S):
        for kind, text, _ in bands_at(second):
            if kind in (CANVAS.TALL, CANVAS.WIDE, CANVAS.BIG):
                read.update(part.strip() for part in text.split("|"))
    return read


def answers(lines, doing):
    """(is the doing said, what of DO is said, what of WHEN is said)."""
    does = any(line == doing or line.endswith(f" ({doing})") for line in lines)
    do = {words for words in DO if any(line == words or line.startswith(words + " ") for line in lines)}
    when = {
        line for line in lines for pattern in WHEN
        if re.fullmatch(pattern, line) or any(re.fullmatch(f"{re.escape(words)} {pattern}", line) for words in DO)
    }  # fmt: skip
    return does, do, when


def doing_word(state, stage):
    """By the tables above."""
    if state == S.RUNNING:
        return STAGES[stage]
    return "held bake" if (state, stage) == (S.HELD, S.BAKE) else STATES[state]


@pytest.mark.slow
@pytest.mark.parametrize("fahrenheit", [0, 1])
def test_every_screen_in_every_state_answers_the_three_questions_within_ten_seconds(app, fahrenheit):
    app.settings["fahrenheit"] = fahrenheit
    told = set()
    count = 0
    for state, stage in situations(app):
        for name, bands_at in screens(app).items():
            lines = lines_of(bands_at, LOOK_S)
            does, do, when = answers(lines, doing_word(state, stage))
            where = f"{name} in {S.STATES[state]}/{S.STAGES[stage]}: {sorted(lines)}"
            assert does, where
            assert do, where
            assert when, where
            told |= do
            count += 1
    assert count > 5_000
    # every row of the table is an answer that some screen gives (trips are the next test's)
    assert told >= set(DO) - {"PULL THE PLUG", "TRIP: page one", "find the cause", "start again", "acknowledge",
                              "check the probe"}  # fmt: skip


@pytest.mark.parametrize("number", [1, 5, 17, 24, 30])
def test_tripped_screen_says_what_happened_what_to_do_and_what_comes_then(app, number):
    app.supervisor.first_out, app.sequence.state, app.sequence.stage = number, S.ABORTED, S.COOL
    sentence, act = app.told.of(number)
    for locked, then in ((0, "then acknowledge below 250 C"), (1, "unlock when cold")):
        app.supervisor.locked_out = locked
        read = {"TRIP": "", "TO DO": "", "NEXT": ""}
        for second in range(0, READ_S, 4):
            head, *rest = PAGES.show(app, PAGES.MAIN, second)
            words = " ".join(" ".join(text for _, text, _ in rest).split())
            title = next(title for title in read if head[1].startswith(title))
            read[title] += "" if words in read[title] else " " + words
        assert [text.strip() for text in read.values()] == [sentence, act, then]
        for name, bands_at in screens(app).items():
            if name != "main":
                assert all(answers(lines_of(bands_at, LOOK_S), "tripped")), name


def test_pull_the_plug_is_said_on_every_screen(app):
    app.supervisor.pull_the_plug, app.supervisor.first_out = 1, LIMITS.CONTACTOR_WELDED
    for name, bands_at in screens(app).items():
        lines = lines_of(bands_at, LOOK_S)
        assert {"PULL THE", "PLUG NOW"} <= lines or {"PULL THE PLUG", "now"} <= lines, name


@pytest.mark.parametrize("lost", [0, 1, 2])
def test_rule_finds_a_screen_that_leaves_a_question_open(app, lost):
    app.sequence.state, app.sequence.stage = S.RUNNING, S.SOAK
    lines = lines_of(screens(app)["stone"], LOOK_S)
    given = answers(lines, "soak")
    assert all(given)
    kept = {line for line in lines if line not in [{"soak", "STONE guess (soak)"}, given[1], given[2]][lost]}
    assert not all(answers(kept, "soak"))
