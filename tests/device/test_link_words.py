"""What each everyday word of the link does and answers, by a stand-in of the App; evenings: test_board_people.py."""

import types

import pytest

from host.shim.loader import world

W = world()
M = W.load("tizzone.link.commands")
L = W.load("tizzone.safety.limits")
S = W.load("tizzone.evening.sequence")
A = W.load("tizzone.safety.alarms")
for name in ("memory", "commissioning", "probes", "evening", "link"):  # the rooms that modules are let go from
    W.load("tizzone." + name)


def told(**values):
    return types.SimpleNamespace(**values)


class App:
    """A board at 411 degrees in mid-evening; `did`: what it was told to do, in order; `takes`: it does it."""

    def __init__(self):
        self.did = []
        self.takes = True
        self.version, self.release_reason = "9.9", ""
        self.board = told(NAME="test board")
        self.learning = self.witness = None
        self.settings = {"fahrenheit": 0}
        self.dome = told(pv_mc=411_000, usable=True, limit_mc=411_000)
        self.stone = told(pv_mc=402_000)
        self.out_pm = 345
        self.heater = told(top=told(on=1), deck=told(on=0), contactor_on=1, heat_off=self.did_("heat off"))
        self.seen = told(
            box_mc=31_000, selector_ours=1, enable=1, limit_ok=1, fan_ok=1, fan_on=1, door_shut=1, top_sense=-1
        )
        self.sequence = told(
            state=S.RUNNING, stage=S.BAKE, setpoint_mc=430_000, seconds_left=61, breads_done=4, session=1,
            cool_mc=250_000, acknowledged=self.did_("acknowledged"),
            **{name: self.did_(name) for name in ("hold", "resume", "reset", "loaded", "rest")},
        )  # fmt: skip
        self.supervisor = told(
            permit=told(granted=1), first_out=L.NONE, limit_mc=500_000, release_mc=480_000, ceiling_mc=480_000,
            pull_the_plug=0, holding=0, stopping=0, armed=1, states=[0] * L.COUNT, acknowledged=A.ACCEPTED,
            warmth=told(below=lambda mc: self.dome.pv_mc < mc), attendance=told(confirm=self.did_("present")),
            unlock=lambda seen: seen is self.seen and self.takes,
        )  # fmt: skip
        self.supervisor.acknowledge = lambda seen: self.supervisor.acknowledged if seen is self.seen else None
        self.acts = told(
            change_setpoint=lambda mc: self.did.append(mc), stop_now=self.did_("stop"),
            start_evening=lambda: "ok begun", enter_maintenance=lambda: "ok maintenance",
            load_witness=self.did_("witness"),
        )  # fmt: skip
        self.told = told(of=lambda number: ["sentence of", L.CONDITION_NAMES[number]])
        self.memory = told(log_line=lambda number: ["first", "second"][number] if number < 2 else None)

    def did_(self, what):
        def act(*_arguments):
            self.did.append(what)
            return self.takes

        return act

    def missing_permissives(self):
        return []

    def say(self, line):
        return M.answer(self, line)


@pytest.fixture
def app():
    return App()


WORDS = [
    *("status", "alarms", "version", "setpoint", "start", "stop", "hold", "resume", "reset", "acknowledge", "unlock"),
    *("present", "loaded", "rest", "glance", "learn", "maintenance", "log", "permissives", "witness", "plan", "spot"),
    *("stone", "pace", "verdict", "bread", "night", "counters", "handover", "setting", "correction"),
]


def test_unknown_word_is_told_which_there_are(app):
    assert app.say("nonsense 1") == "no unknown command; known: " + " ".join(sorted(WORDS))
    assert app.say("") == app.say("   ") == "no empty line"


def test_status_is_one_line_of_all_that_counts(app):
    assert app.say("status") == (
        "ok pv_mc=411000 stone_mc=402000 setpoint_mc=430000 out_pm=345 top=1 deck=0 contactor=1 permit=1 state=running "
        "stage=bake left_s=61 breads=4 trip=none limit_mc=500000 release_mc=480000 box_mc=31000 handover=ours "
        "pull_plug=0 missing=none"
    )
    app.heater.contactor_on = 0
    assert " contactor=0 permit=1 " in app.say("status")
    app.stone, app.supervisor.pull_the_plug, app.supervisor.first_out = None, 1, L.NO_RISE
    app.missing_permissives = lambda: ["fan", "enable"]
    reply = app.say("status")
    assert " stone_mc=none " in reply and f" trip={L.CONDITION_NAMES[L.NO_RISE]} " in reply
    assert reply.endswith(" pull_plug=1 missing=fan,enable")


def test_alarms_names_what_is_not_normal_and_explains_each(app):
    assert app.say("alarms") == "ok first_out=none "
    app.supervisor.first_out = L.NO_RISE
    last = L.COUNT - 1
    app.supervisor.states[0] = 2  # of no condition at all
    for number, state in ((1, 1), (L.NO_RISE, 2), (last, 3)):
        app.supervisor.states[number] = state
    names = L.CONDITION_NAMES
    assert app.say("alarms") == (
        f"ok first_out={names[L.NO_RISE]} {names[1]}={A.ALARM_STATES[1]} {names[L.NO_RISE]}={A.ALARM_STATES[2]} "
        f"{names[last]}={A.ALARM_STATES[3]}"
    )
    assert app.say("alarms door-open") == app.say("alarms door-open fan-stopped") == "ok sentence of door-open"
    assert app.say("alarms door-open nonsense") == "ok sentence of door-open"
    assert app.say("alarms nonsense") == app.say("alarms nonsense door-open") == "no such condition"


@pytest.mark.parametrize(("reason", "word"), [("", "full"), ("no record", "no record")])
def test_version_tells_the_board_and_why_it_is_not_released(app, reason, word):
    app.release_reason = reason
    assert app.say("version") == "ok version=9.9 link=2 board=test board release=" + word


@pytest.mark.parametrize(
    ("word", "value_mc"),
    [("30", 30_000), ("480", 480_000), ("431.5", 431_500), ("431.9", 431_900), ("300.0009", 300_000)],
)
def test_setpoint_within_its_bounds_is_taken(app, word, value_mc):
    assert app.say("setpoint " + word) == f"ok setpoint_c={value_mc // 1000}"
    assert app.did == [value_mc]


@pytest.mark.parametrize("word", ["29.999", "480.001", "481", "-1", "0"])
def test_setpoint_beyond_its_bounds_is_refused_with_the_reason(app, word):
    assert app.say("setpoint " + word) == "no setpoint must lie within 30..480"
    app.release_reason = "steps are missing"
    assert app.say("setpoint " + word) == "no setpoint must lie within 30..480 (steps are missing)"
    assert app.did == []


@pytest.mark.parametrize("words", ["", "450 1", "hot", "nan", "inf", "-inf", "1e400"])
def test_setpoint_that_is_no_number_is_refused(app, words):
    assert app.say("setpoint " + words) == "no say: setpoint 450"
    assert app.did == []


@pytest.mark.parametrize(
    ("word", "did", "refused"),
    [
        ("stop", ["stop"], "no nothing runs (running)"),
        ("resume", ["resume"], "no nothing is held (running)"),
        ("reset", ["reset"], "no not finished (running)"),
        ("loaded", ["loaded"], "no no bread is due (running)"),
    ],
)
def test_act_on_the_evening_is_done_or_refused_with_the_state(app, word, did, refused):
    assert app.say(word) == "ok"
    assert app.did == did
    app.takes = False
    assert app.say(word) == refused


def test_hold_takes_the_heat_in_the_same_moment_and_only_where_it_holds(app):
    assert app.say("hold") == "ok"
    assert app.did == ["hold", "heat off"]
    app.takes = False
    assert app.say("hold") == "no nothing to hold (running)"
    assert app.did == ["hold", "heat off", "hold"]


def test_resume_waits_for_the_cause_of_the_hold_to_go(app):
    app.supervisor.holding = 1
    assert app.say("resume") == "no the cause of the hold is still present"
    assert app.did == []


@pytest.mark.parametrize(("result", "first_out", "goes_on"), [
    (A.ACCEPTED, L.NONE, True), (A.ACCEPTED, L.NO_RISE, False), (A.NOTHING, L.NONE, False), (A.TOO_HOT, L.NONE, False),
    (A.CAUSE_PRESENT, L.NO_RISE, False), (A.LOCKED_OUT, L.NO_RISE, False),
])  # fmt: skip
def test_acknowledge_ends_the_aborted_evening_only_when_nothing_is_latched_any_more(app, result, first_out, goes_on):
    app.supervisor.acknowledged, app.supervisor.first_out = result, first_out
    assert app.say("acknowledge") == ("ok " if result == A.ACCEPTED else "no ") + A.ANSWERS[result]
    assert app.did == (["acknowledged"] if goes_on else [])


def test_words_that_hand_over_to_the_acts(app):
    assert app.say("start") == "ok begun"
    assert app.say("maintenance") == "ok maintenance"
    assert app.say("unlock") == "ok"
    assert app.say("present") == "ok" and app.did == ["present"]
    app.takes = False
    assert app.say("unlock") == "no nothing locked, or the oven is not below 60 C"


def test_rest_tells_its_setpoint_or_why_not(app):
    app.sequence.setpoint_mc = 300_900
    assert app.say("rest") == "ok rest at 300 C; resume goes on"
    app.sequence.setpoint_mc = 300_000
    assert app.say("rest") == "ok rest at 300 C; resume goes on"
    app.takes = False
    assert app.say("rest") == "no the plan has no rest, or not in this stage (bake)"


@pytest.mark.parametrize(("pv_mc", "word"), [(249_999, "may"), (250_000, "wait")])
def test_status_tells_whether_the_ovens_own_thermostat_may_take_over(app, pv_mc, word):
    app.sequence.session, app.dome.pv_mc = 0, pv_mc
    assert M.handover_state(app) == (word, 250)
    app.seen.selector_ours = 0
    assert M.handover_state(app) == ("theirs" if word == "may" else "back", 250)
    app.sequence.session = 1
    assert M.handover_state(app)[0] == ("theirs" if word == "may" else "back")
    app.seen.selector_ours = 1
    assert M.handover_state(app) == ("ours", 250)


@pytest.mark.parametrize(("cool_mc", "below_mc"), [(260_000, 260_000), (260_001, 260_000), (90_000, 90_000)])
def test_hand_over_is_below_the_plans_end_and_never_above_260(app, cool_mc, below_mc):
    app.sequence.session, app.sequence.cool_mc = 0, cool_mc
    for pv_mc, word in ((below_mc - 1, "may"), (below_mc, "wait")):
        app.dome.pv_mc = pv_mc
        assert M.handover_state(app) == (word, below_mc // 1000)


@pytest.mark.parametrize(
    ("stone", "fahrenheit", "row"),
    [
        ((402, 9), 0, "baking|wait|30|1|402|9|C"),
        ((None, 0), 0, "baking|wait|30|1|none|0|C"),
        ((756, 16), 1, "baking|wait|30|1|756|16|F"),
    ],
)
def test_glance_is_the_cue_the_stone_and_the_unit(app, monkeypatch, stone, fahrenheit, row):
    monkeypatch.setattr(M, "cue", lambda app: ("baking", "wait", 30, 1))
    monkeypatch.setattr(M, "stone_now", lambda app: stone)
    app.settings["fahrenheit"] = fahrenheit
    assert app.say("glance") == "ok " + row


def test_learn_tells_how_the_last_one_ended_and_its_phase_while_it_runs(app):
    assert app.say("learn") == app.say("learn stop") == "ok learning never"
    app.learning = told(text="done: kept", experiment=None)
    assert app.say("learn") == "ok learning done: kept"
    app.learning = told(text="running", experiment=told(phase=2))
    assert app.say("learn") == "ok learning running phase=2"


@pytest.mark.parametrize(("line", "reply"), [
    ("log 0", "ok first"), ("log 1", "ok second"), ("log 2", "no end of the log"), ("log", "no say: log 0"),
    ("log x", "no say: log 0"), ("log -1", "no say: log 0"), ("log 0 1", "no say: log 0"),
])  # fmt: skip
def test_log_is_read_line_by_line(app, line, reply):
    assert app.say(line) == reply


def test_permissives_are_told_one_by_one(app):
    assert app.say("permissives") == (
        "ok armed=1 no-trip=1 no-hold=1 no-stop=1 enable=1 limiter=1 selector-ours=1 fan=1 door-shut=1 reading=1 "
        "below-limit=1"
    )
    app.seen.enable, app.dome.usable = 0, False
    assert " enable=0 limiter=1 " in app.say("permissives") and " reading=0 " in app.say("permissives")


def test_witness_is_loaded_between_evenings_only(app, monkeypatch):
    assert app.say("witness") == "no an evening is on: ask when it has ended"
    app.sequence.session, app.takes = 0, False
    assert app.say("witness begin") == M.NO_ROOM and app.did == ["witness"]
    app.takes = True
    witness = W.load("tizzone.commissioning.witness")
    monkeypatch.setattr(witness, "command", lambda app, words: ("asked", words))
    assert app.say("witness begin") == ("asked", ["begin"]) and app.did == ["witness"] * 2
    app.witness, app.sequence.session = object(), 1  # it is there
    assert app.say("witness step 1") == ("asked", ["step", "1"]) and app.did == ["witness"] * 2
