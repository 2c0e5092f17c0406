"""What the link answers about breads and plans, word by word, and which plan is in force: by a stand-in of the App."""

import types

import pytest

from host.shim.loader import world

W = world()
bread = W.load("tizzone.link.bread_commands")
plan = W.load("tizzone.link.plan_commands")
P = W.load("tizzone.evening.plan_in_force")
R = W.load("tizzone.evening.breads")
S = W.load("tizzone.evening.sequence")

SETTINGS = {
    "setpoint_c": 430, "soak_min": 17, "bake_s": 75, "breads": 6, "cool_c": 240, "top_share_pct": 55, "fahrenheit": 0,
}  # fmt: skip
#      dome ramp soak stone wait share breads bake sag recover lift lift_s rest
LEG = [420, 90, 15, 405, 40, 48, 12, 80, 20, 420, 6, 30, 300]
HEAT = [*LEG[:3], 405, *LEG[4:], 900, 10, 44]
WORDS = "420 90 15 405 40 48 12 80 20 420 6 30 300"


def told(**values):
    return types.SimpleNamespace(**values)


class App:
    """An idle board released to 450 degrees, with the settings as its plan; `did`: what was done to it, in order."""

    def __init__(self, stored=None, status="missing"):
        self.did = []
        self.settings = dict(SETTINGS)
        self.top_share_pct = 55
        self.release_reason = ""
        self.takes = True
        self.supervisor = told(ceiling_mc=450_000, permit=told(granted=0))
        self.sequence = P.sequence_of(self.settings, 450_000)
        self.memory = told(keep=lambda name, value: self.did.append((name, value)) or self.takes)
        self.evening = told(
            breads=R.Breads(), flow=None, interrupted=0, leg=0, done=0, at_s=900, session_ms=61_999,
            note_breads=lambda: self.did.append("noted"), forget_interrupted=lambda: self.did.append("forgot"),
        )  # fmt: skip
        self.evening.plan = P.PlanInForce(self, stored, status)

    def say(self, line):
        words = line.split()
        return (plan if words[0] == "plan" else bread).HANDLERS[words[0]](self, words[1:])

    def send(self, name="hall", end_c=200, legs=(WORDS,)):
        """The replies to a plan that is sent in lines."""
        lines = [f"plan begin {name} {end_c} {len(legs)}"]
        lines += [f"plan leg {i + 1} {words}" for i, words in enumerate(legs)]
        return [self.say(line) for line in [*lines, "plan end"]]


@pytest.fixture
def app():
    return App()


def stored(*legs, name="hall", end_c=200):
    return {"name": name, "end_c": end_c, "legs": [list(leg) for leg in legs]}


# --- the plan in force --------------------------------------------------------------------------


def test_settings_are_the_plan_where_there_is_none(app):
    seq, in_force = app.sequence, app.evening.plan
    assert (in_force.value, in_force.incoming, in_force.flow, in_force.lost) == (None, None, None, 0)
    assert in_force.name == "settings" and in_force.refusal(app) == ""
    assert (seq.setpoint_mc, seq.soak_ms, seq.bake_ms) == (430_000, 1_020_000, 75_000)
    assert (seq.breads, seq.cool_mc) == (6, 240_000)
    assert (seq.wait_ms, seq.recover_ms) == (2_400_000, 420_000)
    seq.set_setpoint(431_999)
    assert in_force.leg_values(app) == (421, 20, 75, 55, 0)
    seq.set_setpoint(430_000)
    assert in_force.leg_values(app) == (420, 20, 75, 55, 0)  # the stone as the plan for flatbreads asks it


def test_setpoint_of_the_settings_stays_below_the_ceiling():
    assert P.sequence_of(SETTINGS, 260_000).setpoint_mc == 260_000
    assert P.sequence_of(SETTINGS, 430_001).setpoint_mc == 430_000


def test_stored_plan_is_in_force_from_the_start():
    made = App(stored(LEG, [*LEG[:3], 0, *LEG[4:]]), "ok")
    in_force, seq = made.evening.plan, made.sequence
    assert in_force.name == "hall" and in_force.lost == 0 and len(seq.legs) == 2
    assert (seq.setpoint_mc, seq.cool_mc) == (420_000, 200_000)
    assert in_force.leg_values(made) == (405, 20, 80, 48, 6)
    seq.leg = 1
    assert in_force.leg_values(made) == (0, 20, 80, 48, 6)


@pytest.mark.parametrize(
    ("value", "status", "lost"),
    [
        ({}, "ok", 0),
        (None, "missing", 0),
        (None, "damaged", 1),
        ({}, "damaged", 1),
        ({"name": "x"}, "ok", 1),
        ([1], "ok", 1),
    ],
)
def test_stored_plan_that_is_none_is_lost_unless_nothing_was_stored(value, status, lost):
    made = App(value, status)
    assert made.evening.plan.lost == lost and made.evening.plan.value is None
    assert made.evening.plan.refusal(made) == (
        "the stored plan is damaged: send it again, or say: plan none" if lost else ""
    )


def test_plan_that_is_taken_ends_the_loss_and_a_bad_one_puts_the_settings_back():
    made = App(None, "damaged")
    assert made.evening.plan.use(made, stored(LEG)) is True
    assert made.evening.plan.lost == 0 and made.sequence.setpoint_mc == 420_000
    made.top_share_pct = 48
    assert made.evening.plan.use(made, {"name": "x"}) is False
    assert made.evening.plan.value is None and made.evening.plan.flow is None
    assert made.sequence.setpoint_mc == 430_000 and not made.sequence.legs and made.top_share_pct == 55
    same = made.sequence
    assert made.evening.plan.use(made, None) is False
    assert made.sequence is same  # a person's setpoint stands


@pytest.mark.parametrize(("ceiling_mc", "setpoint_mc"), [(420_000, 420_000), (419_000, 419_000), (260_000, 260_000)])
def test_no_setpoint_of_a_plan_stands_above_what_the_board_may_hold(ceiling_mc, setpoint_mc):
    made = App()
    made.supervisor.ceiling_mc = ceiling_mc
    made.evening.plan.use(made, stored(LEG))
    assert made.sequence.setpoint_mc == setpoint_mc
    made.evening.plan.use(made, None)
    assert made.sequence.setpoint_mc == min(ceiling_mc, 430_000)


@pytest.mark.parametrize(("ceiling_mc", "hot"), [(420_000, False), (420_999, False), (419_999, True)])
def test_plan_that_is_too_hot_for_the_board_is_refused_by_its_hottest_leg(app, ceiling_mc, hot):
    made = stored([300, *LEG[1:]], LEG, [310, *LEG[1:]])
    app.evening.plan.use(app, made)
    app.supervisor.ceiling_mc = ceiling_mc
    words = f"the plan asks for 420, this board allows {ceiling_mc // 1000}" if hot else ""
    assert P.too_hot(app, made) == app.evening.plan.refusal(app) == words
    app.release_reason = "steps are missing"
    assert P.too_hot(app, made) == (words + " (steps are missing)" if hot else "")


def test_flow_is_loaded_for_a_plan_that_wants_heat_and_for_no_other(app, monkeypatch):
    flow = W.load("tizzone.evening.flow").Flow
    assert P.flow_for([LEG]) is None and P.flow_for([[*LEG, 0, 10, 44]]) is None and P.flow_for([]) is None
    assert P.flow_for([LEG, HEAT]) is P.flow_for([HEAT]) is flow
    assert [P.wanted_by(leg) for leg in (LEG, HEAT, [*LEG, 0, 0, 0], [*LEG, 1, 0, 0])] == [0, 1, 0, 1]
    app.evening.plan.use(app, stored(HEAT))
    assert app.evening.plan.flow is flow
    app.evening.plan.use(app, stored(LEG))
    assert app.evening.plan.flow is None


def test_plan_leaves_no_module_behind_that_no_leg_wants(app, monkeypatch):
    monkeypatch.delitem(W.modules, "tizzone.evening.flow", raising=False)
    monkeypatch.delattr(W.load("tizzone.evening"), "flow", raising=False)
    app.evening.plan.use(app, stored(LEG))
    assert not {"tizzone.evening.flow", "tizzone.evening.bake_plan"} & set(W.modules)


def test_plan_that_follows_another_is_in_force_whole(app):
    app.evening.plan.use(app, stored(LEG, LEG))
    app.evening.plan.use(app, stored([300, *LEG[1:]], name="late", end_c=90))
    seq = app.sequence
    assert (len(seq.legs), seq.setpoint_mc, seq.cool_mc, app.evening.plan.name) == (1, 300_000, 90_000, "late")


# --- plan over the link -------------------------------------------------------------------------


def test_plan_in_force_is_told(app):
    assert app.say("plan") == "ok plan=settings leg=1/1 breads=0/6 end_c=240"
    app.send(legs=(WORDS, WORDS, WORDS))
    app.sequence.leg, app.sequence.leg_done = 1, 3
    assert app.say("plan") == "ok plan=hall leg=2/3 breads=3/12 end_c=200"


def test_plan_sent_in_lines_is_in_force_and_stored(app):
    app.evening.plan.use(app, None)
    assert app.send(legs=(WORDS, WORDS + " 900 10 44")) == ["ok", "ok", "ok", "ok plan=hall"]
    value = {"name": "hall", "end_c": 200, "legs": [LEG, [*LEG, 900, 10, 44]]}
    assert app.evening.plan.value == value and app.evening.plan.incoming is None
    assert app.did == ["forgot", ("plan", value)]  # an interrupted evening of another plan is over
    assert app.sequence.setpoint_mc == 420_000
    app.did.clear()
    assert app.send()[-1] == "ok plan=hall"  # the same name: its evening goes on
    assert [what for what in app.did if what == "forgot"] == []


def test_leg_is_shown_by_its_number(app):
    assert app.say("plan show 1") == "no such leg"
    app.send(legs=(WORDS, "300 " + WORDS[4:]))
    assert app.say("plan show 1") == (
        "ok dome_c=420 ramp_k_h=90 soak_min=15 stone_c=405 wait_min=40 share_pct=48 breads=12 bake_s=80 sag_k=20 "
        "recover_s=420 lift_pct=6 lift_s=30 rest_c=300"
    )
    assert app.say("plan show 2").startswith("ok dome_c=300 ")
    app.sequence.state = S.RUNNING  # also in an evening
    assert app.say("plan show 2").startswith("ok dome_c=300 ")
    for line in ("plan show 0", "plan show 3"):
        assert app.say(line) == "no such leg"


@pytest.mark.parametrize(
    "line", ["plan show", "plan show 1 1", "plan show x", "plan none", "plan begin a 200 1", "plan leg 1 2", "plan end"]
)
@pytest.mark.parametrize("busy", ["running", "permitted"])
def test_plan_changes_only_while_idle_and_without_heat(app, line, busy):
    if busy == "running":
        app.sequence.state = S.RUNNING
    else:
        app.supervisor.permit.granted = 1
    assert app.say(line) == "no plans change only while idle"
    assert app.did == [] and app.evening.plan.incoming is None


def test_plan_none_puts_the_settings_in_force_and_forgets_the_evening(app):
    app.send()
    app.did.clear()
    assert app.say("plan none") == "ok plan=settings"
    assert app.evening.plan.value is None and app.did == ["forgot", ("plan", {})]


@pytest.mark.parametrize(
    ("line", "reply"),
    [
        ("plan nonsense 200 1", "no say: plan begin NAME END_C LEGS"),
        ("plan nonsense", "no say: plan begin NAME END_C LEGS"),
        ("plan none 1", "no say: plan begin NAME END_C LEGS"),
        ("plan begin hall 200", "no say: plan begin NAME END_C LEGS"),
        ("plan begin hall 200 1 1", "no say: plan begin NAME END_C LEGS"),
        ("plan begin hall", "no say: plan begin NAME END_C LEGS"),
        ("plan begin hall 200 one", "no whole numbers are needed"),
        ("plan leg 1 420.5", "no whole numbers are needed"),
        ("plan show x", "no whole numbers are needed"),
        ("plan leg 1 " + WORDS, "no say: plan begin NAME END_C LEGS"),  # nothing was begun
        ("plan end 1", "no say: plan begin NAME END_C LEGS"),
        ("plan end", "no legs are missing: begin again"),
        ("plan begin Hall 200 1", "no a name has 1 to 24 of a-z, 0-9 and -"),
        ("plan begin hall 39 1", "no end_c must lie within 40..260"),
        ("plan begin hall 261 1", "no end_c must lie within 40..260"),
        ("plan begin hall 200 0", "no a plan has 1 to 8 legs"),
        ("plan begin hall 200 9", "no a plan has 1 to 8 legs"),
    ],
)
def test_plan_line_that_cannot_be_taken_says_why(app, line, reply):
    assert app.say(line) == reply
    assert app.evening.plan.incoming is None and app.did == []


@pytest.mark.parametrize("legs", [1, 8])
def test_plan_of_one_to_eight_legs_may_begin(app, legs):
    assert app.say(f"plan begin hall 200 {legs}") == "ok"
    assert app.evening.plan.incoming == {"name": "hall", "end_c": 200, "legs": [], "count": legs}


def test_legs_come_in_their_order_and_no_more_than_were_told(app):
    app.say("plan begin hall 200 2")
    assert app.say("plan leg 1") == "no say: plan begin NAME END_C LEGS"
    assert app.say("plan nonsense 1 " + WORDS) == "no say: plan begin NAME END_C LEGS"
    assert app.say("plan leg 1 60") == "no leg 1: a leg has 13 or 16 whole numbers"
    for number in (0, 2):
        assert app.say(f"plan leg {number} {WORDS}") == "no leg 1 is awaited"
    assert app.say("plan leg 1 29" + WORDS[3:]) == "no leg 1: dome_c must lie within 30..530"
    assert app.say("plan leg 1 " + WORDS) == "ok"
    assert app.say("plan leg 1 " + WORDS) == "no leg 2 is awaited"
    assert app.say("plan leg 2 " + WORDS) == "ok"
    assert app.say("plan leg 3 " + WORDS) == "no leg 3 is awaited"
    assert app.say("plan end") == "ok plan=hall"


def test_plan_with_missing_legs_is_dropped_whole(app):
    app.say("plan begin hall 200 2")
    app.say("plan leg 1 " + WORDS)
    assert app.say("plan end") == "no legs are missing: begin again"
    assert app.evening.plan.incoming is None and app.evening.plan.value is None and app.did == []


def test_plan_that_is_too_hot_is_not_taken(app):
    assert app.send(legs=("451" + WORDS[3:],))[-1] == "no the plan asks for 451, this board allows 450"
    assert app.evening.plan.value is None and app.did == []


@pytest.mark.parametrize("line", ["plan none", "plan end"])
def test_plan_that_cannot_be_stored_says_so(app, line):
    app.takes = False
    app.say("plan begin hall 200 1")
    app.say("plan leg 1 " + WORDS)
    assert app.say(line).endswith(" but the board could not store it: a power cut forgets it")
