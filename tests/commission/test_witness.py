"""The board as witness: its steps in order, and only on what it has seen itself or a person has attested."""

import pytest
from witness_bench import ALL, BY, MEASURED, NAMES, TODO, App, at, mark_of, watching

# --- at a start --------------------------------------------------------------------------------------


def test_witness_of_a_new_board_has_nothing_and_says_so():
    told = App().told()
    assert told.pop("mark") == mark_of(App())
    assert told == {
        "release_c": "60", "done": "0", "next": "papers", "active": "none", "todo": "none", "unseen": "none",
        "value_mc": "0", "count_ms": "0", "stored": "1", "reason": "not commissioned",
    }  # fmt: skip


def test_witness_goes_on_where_the_record_stands():
    app = App(6)
    assert app.witness.steps == [[*BY, n] for n in range(6)]
    told = app.told()
    assert (told["release_c"], told["done"], told["next"], told["reason"]) == ("120", "6", "first-heat", "none")
    assert App(10).told()["next"] == "none"


def test_witness_of_a_record_that_speaks_of_other_settings_begins_anew():
    app = App(6)
    app.signed["high_limit_c"] = 490
    assert app.restart().steps == []


def test_witness_words_are_free_of_any_step_before_one_begins():
    app = App()
    app.witness.bits = app.witness.blind = 0
    assert (app.witness.todo(), app.witness.unseen()) == ([], [])


@pytest.mark.parametrize("moved", ["contactor_switchings", "top", "deck", None])
def test_witness_made_late_knows_whether_this_start_has_heated(moved):
    app = at("dead")
    if moved == "contactor_switchings":
        app.heater.contactor_switchings = 3
    elif moved:
        getattr(app.heater, moved).switchings = 3
    assert app.restart().heated == (1 if moved else 0)
    assert app.enter("dead").startswith("no the dead test wants a cold oven" if moved else "ok")


@pytest.mark.parametrize("on", ["contactor", "top", "deck", None])
def test_witness_notes_every_heat_of_this_start(on):
    app = at("dead")
    if on == "contactor":
        app.heater.contactor_on = 1
    elif on:
        getattr(app.heater, on).on = 1
    assert app.tick().heated == (1 if on else 0)


# --- the order of the steps --------------------------------------------------------------------------


@pytest.mark.parametrize("step", NAMES)
def test_each_step_comes_in_its_turn_and_no_other_does(step):
    app = at(step)
    for name in NAMES:
        if name != step:
            assert app.enter(name) == "no the next step is " + step
    assert app.enter(step) == "ok"
    assert app.begun() == (step if ALL[step] else "none")


def test_after_the_last_step_no_step_comes():
    app = App(10)
    assert {app.enter(name) for name in NAMES} == {"no the next step is none"}


@pytest.mark.parametrize("step", NAMES)
def test_measured_step_cannot_be_attested_nor_an_attested_one_begun(step):
    app = at(step)
    wrong = "attest" if ALL[step] else "begin"
    word = "no the board measures this step: witness begin" if ALL[step] else "no attest this step"
    assert app.say(f"{wrong} {step} MB 20260105") == word
    assert (app.witness.active, app.witness.unsaved, len(app.witness.steps)) == (-1, 0, NAMES.index(step))


@pytest.mark.parametrize("step", NAMES)
def test_step_that_does_not_exist_is_named_none(step):
    assert at(step).say("begin lamps MB 20260105") == "no such step; steps: " + " ".join(NAMES)


@pytest.mark.parametrize(("initials", "date", "taken"), [
    ("A" * 8, "1" * 16, True), ("A" * 9, "1", False), ("A", "1" * 17, False), ("A", "1", True),
    ("A" * 9, "1" * 17, False),
])  # fmt: skip
def test_initials_and_date_have_a_length_that_the_record_can_hold(initials, date, taken):
    app = at("papers")
    reply = app.say(f"attest papers {initials} {date}")
    assert (reply == "ok") is taken
    assert taken or reply == "no initials have at most 8 letters, a date 16"
    assert app.witness.steps == ([[initials, date, 0]] if taken else [])


@pytest.mark.parametrize("line", ["begin", "begin lamp", "begin lamp MB", "begin lamp MB 1 2", "attest papers MB 1 2",
                                  "attest", "pass lamp MB 1", "step", "step x", "step 1 2", "x", "papers",
                                  "1 1"])  # fmt: skip
def test_line_that_is_no_act_of_a_witness_says_what_is(line):
    app = at("papers")
    assert app.say(line) == "no say: witness begin STEP INITIALS DATE"
    assert (app.witness.active, app.witness.steps) == (-1, [])


def test_step_under_way_bars_another_until_it_is_cancelled():
    app = watching("dead")
    assert app.enter("dead") == "no dead is under way"
    assert app.say("cancel") == "ok"
    assert (app.witness.active, app.begun()) == (-1, "none")
    assert app.enter("dead") == "ok"


def test_refusal_names_what_comes_first():
    app = at("papers")
    assert app.enter("papers") == "ok"
    assert app.enter("dead").startswith("no the last step is not stored yet")
    app.tick()
    assert app.say("attest dead TOOLONGINITIALS 20260105") == "no the next step is electrical"
    app = at("dead")
    app.sequence.session, app.witness.heated = 1, 1
    assert app.enter("dead") == "no an evening is on: stop it first"
    app.dome.usable = False
    assert app.enter("dead") == "no the dome reading is not usable"
    app = at("limiter", LIMIT_OK="gone")
    app.dome.usable = False
    assert app.enter("limiter").startswith("no LIMIT_OK is not wired")


def test_step_that_was_cancelled_lacks_nothing_and_is_blind_to_nothing():
    app = watching("lamp", MAINS_SENSE_TOP="gone")
    app.say("cancel")
    assert (app.witness.todo(), app.witness.unseen()) == ([], [])


def test_state_tells_figure_and_time_of_the_step_under_way():
    app = watching("first-heat")
    app.witness.value_mc, app.witness.count_ms = 115_000, 250
    told = app.told()
    assert (told["value_mc"], told["count_ms"]) == ("115000", "250")


def test_step_that_is_not_stored_yet_bars_the_next():
    app = at("papers")
    app.sequence.session = 1
    assert app.enter("papers") == "no an evening is on: stop it first"
    app.sequence.session = 0
    assert app.enter("papers") == "ok"
    assert app.told()["stored"] == "0"
    assert app.enter("electrical") == "no the last step is not stored yet: stop the evening first"
    app.tick()
    assert app.told()["stored"] == "1"
    assert app.enter("electrical") == "ok"


def test_steps_that_were_done_are_read_back_one_by_one():
    app = App(2)
    assert app.say("step 0") == "ok papers MB 20260105 0"
    assert app.say("step 1") == "ok electrical MB 20260105 1"
    assert app.say("step 2") == "no that step is not done"


# --- what a step needs ---------------------------------------------------------------------------------


NEEDS = {"transfer": ("SELECTOR", "ENABLE", "CONTACTOR_OPEN"), "cutoff": ("CONTACTOR_OPEN",),
         "limiter": ("LIMIT_OK", "CONTACTOR_OPEN")}  # fmt: skip
CONTACTS = ("SELECTOR", "ENABLE", "CONTACTOR_OPEN", "LIMIT_OK", "FAN_OK", "MAINS_SENSE_TOP", "MAINS_SENSE_DECK")


@pytest.mark.parametrize("step", MEASURED)
@pytest.mark.parametrize("contact", CONTACTS)
def test_step_whose_contact_is_not_wired_cannot_be_measured(step, contact):
    app = at(step, **{contact: "gone"})
    if contact in NEEDS.get(step, ()):
        assert app.enter(step) == f"no {contact} is not wired: this cannot be measured"
        assert app.witness.active == -1
    else:
        assert app.enter(step) == "ok"


@pytest.mark.parametrize("step", MEASURED)
def test_step_needs_a_usable_reading(step):
    app = at(step)
    app.dome.usable = False
    assert app.enter(step) == "no the dome reading is not usable"
    assert app.witness.active == -1


@pytest.mark.parametrize("step", MEASURED)
def test_only_dead_and_lamp_test_want_the_evening_to_be_over(step):
    app = at(step)
    app.sequence.session = 1
    reply = app.enter(step)
    assert reply == ("no an evening is on: stop it first" if step in ("dead", "lamp") else "ok")


@pytest.mark.parametrize("step", MEASURED)
def test_only_the_dead_test_wants_a_cold_oven_and_a_board_that_has_not_heated(step):
    for pv_mc, heated in ((45_000, 0), (45_001, 0), (20_000, 1)):
        app = at(step)
        app.dome.pv_mc, app.witness.heated = pv_mc, heated
        refused = step == "dead" and (pv_mc > 45_000 or heated)
        assert app.enter(step).startswith("no the dead test wants a cold oven" if refused else "ok")


@pytest.mark.parametrize("step", MEASURED)
def test_step_that_begins_has_everything_still_to_be_seen(step):
    app = at(step)
    w = app.witness
    w.fault, w.value_mc, w.count_ms, w.was_closed, w.cut_asked, w.lost_ms, w.bits = "before", 7, 8, 1, 1, 500, 1
    assert w.begin(app, NAMES.index(step), BY) == ""
    assert (w.active, w.bits, w.blind, w.all_bits) == (NAMES.index(step), 0, 0, ALL[step])
    assert (w.fault, w.value_mc, w.count_ms, w.was_closed, w.cut_asked, w.lost_ms) == ("", 0, 0, 0, 0, -1)
    assert (w.base_mc, w.base_stone_mc, w.by) == (20_000, 19_000, BY)
    assert len(w.todo()) == bin(ALL[step]).count("1") and w.unseen() == []
    told = app.told()
    assert told["todo"] == ",".join(w.todo()) and told["unseen"] == "none"


@pytest.mark.parametrize("step", MEASURED)
def test_step_names_what_it_still_lacks(step):
    app = watching(step)
    assert app.told()["todo"] == TODO[step]
    for bit, name in enumerate(TODO[step].split(",")):
        assert name in app.witness.todo()
        app.witness.mark(bit)
        assert name not in app.witness.todo()
    assert app.told()["todo"] == "none"
    assert (app.witness.bits, app.witness.all_bits) == (ALL[step], ALL[step])


def blind(step, **changes):
    """(bits, names) of what a board that lacks these cannot see."""
    stone, fan = changes.pop("stone", True), changes.pop("fan", True)
    app = at(step, **changes)
    if not stone:
        app.stone = None
    if not fan:
        app.heater.fan = None
    assert app.enter(step) == "ok"
    w = app.witness
    assert w.bits == w.blind and (stone or w.base_stone_mc == 0)
    return w.blind, app.told()["unseen"]


@pytest.mark.parametrize("step", MEASURED)
@pytest.mark.parametrize(("changes", "at_step", "bits", "names"), [
    ({"stone": False}, "dead", 2, "stone-warmed"),
    ({"MAINS_SENSE_TOP": "gone"}, "lamp", 1, "top-current"),
    ({"MAINS_SENSE_DECK": "gone"}, "lamp", 2, "deck-current"),
    ({"MAINS_SENSE_TOP": "gone", "MAINS_SENSE_DECK": "gone"}, "lamp", 3, "top-current,deck-current"),
    ({"HEAT_TOP": None}, "lamp", 1, "top-current"),
    ({"HEAT_DECK": None}, "lamp", 2, "deck-current"),
    ({"FAN_OK": "gone"}, "transfer", 12, "fan-turns,fan-rests"),
    ({"fan": False}, "transfer", 12, "fan-turns,fan-rests"),
])  # fmt: skip
def test_what_is_not_wired_is_told_as_unseen_and_a_persons_word_stands(step, changes, at_step, bits, names):
    assert blind(step, **changes) == ((bits, names) if step == at_step else (0, "none"))


def test_step_that_has_failed_says_why_until_the_next_begins():
    app = watching("lamp")
    app.witness.fail("the reason")
    assert app.witness.active == -1
    told = app.told()
    assert (told["active"], told["reason"]) == ("none", "the reason")
    assert app.say("accept") == "no step is under way: the reason"
    assert app.enter("lamp") == "ok"
    assert app.told()["reason"] == "none" or app.release_reason


def test_reason_of_a_release_that_fell_back_is_told_where_no_step_has_failed():
    assert App(3).told()["reason"] == "none"
    assert App(3, LIMIT_OK="gone").told()["reason"] == "none"
    assert App(8, LIMIT_OK="gone").told()["reason"].startswith("no independent limiter")
    app = App(8, LIMIT_OK="gone")
    app.witness.fault = "the step's own"
    assert app.told()["reason"] == "the step's own"
