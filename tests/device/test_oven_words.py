"""What the link answers about the oven and its stone, word by word: counters, handover, spot, stone, pace."""

import types

import pytest

from host.shim.loader import world

W = world()
oven = W.load("tizzone.link.oven_commands")
stone = W.load("tizzone.link.stone_commands")
C = W.load("tizzone.evening.counters")
L = W.load("tizzone.safety.limits")
S = W.load("tizzone.evening.sequence")


def told(**values):
    return types.SimpleNamespace(**values)


class Stone:
    """A model of the stone at 431.4 degrees; `off_k` is what a spot would find."""

    def __init__(self):
        self.surface_c, self.core_c, self.sigma_k, self.basis, self.spots = 431.4, 402.6, 12.4, 1, 0
        self.took = []

    def spot(self, value_c):
        off_k = value_c - self.surface_c
        self.took.append(value_c)
        self.spots, self.sigma_k, self.basis = 1, 5.0, 2
        return off_k

    def forget(self):
        self.took.append("forgotten")


@pytest.fixture
def app():
    made = told(
        seen=told(selector_ours=1),
        dome=told(usable=True, pv_mc=249_900),
        sequence=told(cool_mc=250_000, session=0, stage=S.NO_STAGE, stone_ready=0),
        supervisor=told(first_out=L.NONE, warmth=told(), doubted=()),
        evening=told(
            counters=C.Counters({"top": 1234}), stone=Stone(), flow=None, forecast=told(ready_s=-1.0, cycle_s=-1.0),
            plan=told(leg_values=lambda app: (420, 20, 90, 50, 0)),
        ),
        kept=[],
    )  # fmt: skip
    made.memory = told(keep=lambda name, value: made.kept.append((name, value)) or True)
    made.supervisor.any_of = lambda names: names == L.DOME_DOUBTS and bool(made.supervisor.doubted)
    made.supervisor.warmth.below = lambda mc: not made.supervisor.doubted and made.dome.pv_mc < mc
    return made


# --- counters -----------------------------------------------------------------------------------


def test_counters_are_told_in_one_line(app):
    assert oven.counters(app, []) == "ok " + app.evening.counters.line()
    assert "top=1234" in oven.counters(app, [])


@pytest.mark.parametrize(
    ("name", "meaning"),
    [
        ("hot_min", "dome above 250"), ("heat_min", "a relay on"), ("sessions", "evenings begun"), ("breads", "baked"),
        ("trips", "trips"), ("cuts", "power cut"), ("top", "top relay"), ("deck", "deck relay"),
        ("contactor", "contactor closed"), ("stalls", "flash write"),
    ],
)  # fmt: skip
def test_counter_says_what_it_means(app, name, meaning):
    value = 1234 if name == "top" else 0
    reply = oven.counters(app, [name])
    assert reply.startswith(f"ok {name}={value} (") and meaning in reply


@pytest.mark.parametrize("words", [["nonsense"], ["top", "deck"], ["top", "top"], ["0"]])
def test_counter_that_is_none_is_refused(app, words):
    assert oven.counters(app, words) == "no such counter"


def test_every_counter_has_a_meaning_of_its_own():
    assert len(set(oven.MEANINGS)) == len(C.NAMES) == len(oven.MEANINGS)
    assert W.load("tizzone.link.commands")._ON_DEMAND["counters"] == "oven"
    assert {"counters": oven.counters, "handover": oven.handover} == oven.HANDLERS


# --- handover -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ours", "session", "pv_mc", "reply"),
    [
        (1, 1, 100_000, "no handover=ours an evening is on: stop it, let it cool below 250"),
        (1, 0, 250_000, "no handover=wait dome 250: let it cool below 250 first"),
        (1, 0, 249_999, "ok handover=may dome 249: turn the selector through OFF to the oven's own"),
        (0, 0, 249_999, "ok handover=theirs it has the oven; to take it back turn through OFF to OURS, then start"),
        (0, 1, 249_999, "ok handover=theirs it has the oven; to take it back turn through OFF to OURS, then start"),
        (0, 0, 251_234, "no handover=back dome 251: too hot for it, turn the selector to OFF until it is below 250"),
    ],
)
def test_handover_says_who_may_have_the_oven_and_what_to_do(app, ours, session, pv_mc, reply):
    app.seen.selector_ours, app.sequence.session, app.dome.pv_mc = ours, session, pv_mc
    assert oven.handover(app, []) == reply


@pytest.mark.parametrize(("cool_mc", "below"), [(200_000, 200), (260_000, 260), (300_000, 260)])
def test_handover_is_never_above_260_whatever_the_plan_says(app, cool_mc, below):
    app.sequence.cool_mc = cool_mc
    for pv_mc, word in ((below * 1000 - 1, "may"), (below * 1000, "wait")):
        app.dome.pv_mc = pv_mc
        assert "handover=" + word in oven.handover(app, [])
    assert f"let it cool below {below} first" in oven.handover(app, [])


@pytest.mark.parametrize("why", ["fault", "trip"])
def test_reading_that_is_not_believed_is_not_told_as_the_domes(app, why):
    if why == "fault":
        app.dome.usable = False
        app.supervisor.warmth.below = lambda mc: 0
    else:
        app.supervisor.doubted = (L.NO_RISE,)
    assert oven.handover(app, []) == "no handover=wait dome unknown: let it cool below 250 first"


# --- spot ---------------------------------------------------------------------------------------


HOW = "no say: spot 431 (bare stone, its middle, thermometer at emissivity 0.90; set 0.05 too high it shows"


@pytest.mark.parametrize("words", [[], ["431", "1"], ["hot"], ["nan"], ["-20"], ["650"], ["inf"], ["-300"]])
def test_spot_that_is_no_temperature_of_a_stone_is_refused_with_how_to_take_one(app, words):
    assert stone.spot(app, words).startswith(HOW)
    assert app.evening.stone.took == []


@pytest.mark.parametrize(("word", "off"), [("441.4", "10"), ("431", "-0"), ("-19.9", "-451"), ("649.9", "218")])
def test_spot_is_taken_by_the_model_and_tells_how_far_off_it_was(app, word, off):
    reply = stone.spot(app, [word])
    assert reply.startswith(f"ok off_k={off} surface_c=431 core_c=403 sigma_k=5 basis=spots spots=1")
    assert app.evening.stone.took == [float(word)]


@pytest.mark.parametrize(
    ("sigma_k", "off_k", "far"),
    [
        (3.0, 15.0, False),
        (3.0, 15.1, True),
        (3.0, -15.1, True),
        (0.0, 11.9, False),
        (0.0, 12.1, True),
        (0.0, -12.1, True),
    ],
)
def test_spot_beyond_three_deviations_asks_whether_it_was_taken_well(app, sigma_k, off_k, far):
    app.evening.stone.sigma_k, app.evening.stone.surface_c = sigma_k, 400.0  # and 4 K of the thermometer
    reply = stone.spot(app, [str(400.0 + off_k)])
    assert reply.endswith(" far: was it bare stone, its middle, and the right emissivity?") is far


def test_spot_is_refused_while_a_bread_lies_there(app):
    app.sequence.stage = S.BAKE
    assert stone.spot(app, ["431"]) == "no a bread lies on the stone"
    assert app.evening.stone.took == []


@pytest.mark.parametrize("accepts", [0, 1])
def test_cold_spot_after_a_trip_is_a_proof_and_no_lesson(app, accepts):
    asked = []
    app.supervisor.first_out = L.NO_RISE
    app.supervisor.warmth.attest = lambda seen, value_mc: asked.append((seen, value_mc)) or accepts
    reply = stone.spot(app, ["59.9"])
    assert asked == [(app.seen, 59_900)] and app.evening.stone.took == []
    if accepts:
        assert reply == (
            "ok off_k=-372 surface_c=431 core_c=403 sigma_k=12 basis=learned spots=0 cold: acknowledge may follow"
        )
    else:
        assert reply == "no proof of cold: it takes an hour without heat, and each probe below 60"


@pytest.mark.parametrize(("first_out", "word"), [("NO_RISE", "60"), ("NONE", "25")])
def test_spot_without_a_trip_or_on_a_warm_stone_proves_nothing(app, first_out, word):
    app.supervisor.first_out = getattr(L, first_out)
    assert stone.spot(app, [word]).startswith("ok off_k=")
    assert app.evening.stone.took == [float(word)]


# --- stone --------------------------------------------------------------------------------------


def test_stone_is_told_with_what_is_wanted_and_when(app):
    head = "ok surface_c=431 core_c=403 sigma_k=12 basis="
    assert stone.stone(app, []) == head + (
        "learned spots=0 wanted_c=420 ready=0 ready_s=unknown an estimate: take a spot"
    )
    app.evening.stone.basis = 2
    app.sequence.stone_ready = 1
    app.evening.forecast.ready_s = 0.0
    assert stone.stone(app, []) == head + "spots spots=0 wanted_c=420 ready=1 ready_s=0"
    app.evening.plan.leg_values = lambda app: (0, 20, 90, 50, 0)
    assert stone.stone(app, []) == head + "spots spots=0 wanted_c=0 ready=none ready_s=0"


@pytest.mark.parametrize(("basis", "estimate"), [(0, True), (1, True), (2, False), (3, False)])
def test_stone_that_nobody_has_measured_asks_for_a_spot(app, basis, estimate):
    app.evening.stone.basis = basis
    assert stone.stone(app, []).endswith(" an estimate: take a spot") is estimate


@pytest.mark.parametrize(
    ("ready_s", "when"),
    [(-1.0, "unknown"), (-0.1, "unknown"), (0.0, "0"), (61.9, "61"), (5399.0, "5399"), (5400.0, "beyond-90-min")],
)
def test_stone_tells_when_it_will_be_ready(app, ready_s, when):
    app.evening.stone.basis, app.evening.forecast.ready_s = 2, ready_s
    assert stone.stone(app, []).endswith(" ready_s=" + when)


def test_stone_forgets_what_it_has_learned_between_evenings_only(app):
    app.sequence.session = 1
    assert stone.stone(app, ["forget"]) == "no an evening is on: stop it first"
    assert app.evening.stone.took == [] and app.kept == []
    app.sequence.session = 0
    assert stone.stone(app, ["forget"]) == "ok"
    assert app.evening.stone.took == ["forgotten"] and app.kept == [("stone", {})]
    app.memory.keep = lambda name, value: False
    assert stone.stone(app, ["forget"]) == "no the board cannot store it"


# --- pace ---------------------------------------------------------------------------------------


def test_pace_is_told_once_it_is_known(app):
    assert stone.pace(app, []) == "no pace is known yet: it needs a plan with a wanted stone, under way"
    app.evening.forecast.cycle_s = 240.0
    assert stone.pace(app, []) == "ok cycle_s=240 breads_h=15.0 basis=learned"
    app.evening.forecast.cycle_s = 0.5
    assert stone.pace(app, []) == "ok cycle_s=0 breads_h=7200.0 basis=learned"
    app.evening.forecast.cycle_s = -0.5
    assert stone.pace(app, []).startswith("no pace")


def test_pace_of_a_plan_that_goes_by_heat_is_the_flows(app):
    app.evening.flow = told(base_kj=0, line=lambda: "by heat")
    app.evening.forecast.cycle_s = 240.0
    assert stone.pace(app, []).startswith("ok cycle_s=240")
    app.evening.flow.base_kj = 900
    assert stone.pace(app, []) == "ok by heat"


def test_words_of_the_stone_are_found_by_the_link():
    assert {"spot": stone.spot, "stone": stone.stone, "pace": stone.pace} == stone.HANDLERS
