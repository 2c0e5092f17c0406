"""Who answers: the terminal's questions, and an answers file that is missing, broken or wrong."""

import tomllib

import pytest
from commission_answers import answers

from host.commissioning import paper
from host.commissioning.course import describe
from host.commissioning.hands import Hands
from host.commissioning.person import AnswerError, Answers, Terminal
from host.commissioning.steps import STEPS
from host.mains import sheet
from host.mains.example import EXAMPLE

BY_NAME = {step.name: step for step in STEPS}
EARTH = next(field for field in BY_NAME["electrical"].fields if field.name == "earth_ohm")


def typing(*lines):
    """A terminal at which these lines are typed."""
    waiting, told = list(lines), []
    return Terminal(lambda prompt: waiting.pop(0), told.append), told


def test_name_and_initials_are_asked_until_they_can_be_used_and_then_remembered():
    person, told = typing("", "", "M. Baker", "M1", "M. Baker", "MB", "", "")
    assert person.by(BY_NAME["papers"]) == ("M. Baker", "MB")
    assert len(told) == 2
    assert person.by(BY_NAME["lamp"]) == ("M. Baker", "MB")


def test_number_is_asked_again_until_it_is_one_with_comma_or_point():
    person, told = typing("low", "", "0,05")
    assert person.entry(BY_NAME["electrical"], EARTH) == 0.05
    assert all("a number in ohm is needed" in line for line in told) and len(told) == 2


def test_number_out_of_bounds_is_taken_as_it_was_measured():
    """A bad reading is not argued away at the prompt: it goes into the record and fails the step."""
    person, told = typing("0.4", "yes")
    assert person.entry(BY_NAME["electrical"], EARTH) == 0.4 and "outside 0 to 0.1 ohm" in " ".join(told)


def test_slip_of_the_keys_does_not_end_the_step():
    person, _ = typing("5", "", "0.05")
    assert person.entry(BY_NAME["electrical"], EARTH) == 0.05


def test_answers_are_explained_gone_back_to_reviewed_and_corrected():
    step = BY_NAME["dead"]
    person, told = typing("?", "9,8", "<", "9.7", "9.9", "2", "10.1", "")
    assert [value for _, value in person.entries(step, list(step.fields))] == [9.7, 10.1]
    assert any("good: 0.5 to 12 kohm" in line for line in told) and any("1. top relay input" in line for line in told)
    assert all(len(line) <= 78 for line in told)


def test_name_is_asked_once_and_taken_again_with_enter():
    person, _ = typing("M. Baker", "MB", "", "E. Lector", "EL", "")
    assert [person.by(BY_NAME["papers"]) for _ in range(4)] == [
        ("M. Baker", "MB"), ("M. Baker", "MB"), ("E. Lector", "EL"), ("E. Lector", "EL")
    ]  # fmt: skip


def test_what_the_build_sheet_knows_is_offered_and_taken_with_enter():
    known = paper.from_sheet(sheet.check(tomllib.loads(EXAMPLE)))
    person, _ = typing("", "", "", "")
    person.known = known
    rated, plate = (field for field in BY_NAME["papers"].fields[1::-1])
    assert person.entry(BY_NAME["papers"], rated) == 2900.0
    assert "2900 W" in person.entry(BY_NAME["papers"], plate)
    rcd = next(field for field in BY_NAME["electrical"].fields if field.name == "rcd_ma")
    assert person.entry(BY_NAME["electrical"], EARTH) == 0.06 and person.entry(BY_NAME["electrical"], rcd) == 22
    assert known["papers", "cutouts"] == "Cut-out on the rear wall (cabinet), breaks the elements' common conductor"
    assert "thermostat's sensor: moved, filled bulb" in known["papers", "bridged"]
    assert {name for step, name in known if step == "electrical"} == {
        "earth_ohm", "insulation_mohm", "rcd_ma", "rcd_ms", "licence", "instrument"
    }  # fmt: skip


def test_sheet_without_figures_offers_nothing_that_nobody_measured():
    blank = {"elements": {"top": {"ohms": 40, "power_w": None}}, "supply": {"voltage_v": 230}}
    assert paper.from_sheet(blank) == {}
    assert paper.from_sheet({}) == {}


def test_file_for_paper_asks_in_plain_words_and_is_read_back_under_the_short_names():
    known = paper.from_sheet(sheet.check(tomllib.loads(EXAMPLE)))
    text = paper.template(known)
    written = tomllib.loads(text)
    assert not any("_" in name for table in written.values() for name in table)
    made, fault = paper.keyed(written)
    assert fault == "" and made["electrical"]["earth_ohm"] == 0.06 and made["papers"]["rated_w"] == 2900
    for step in STEPS:  # filled in as on paper, numbers between the quotes
        for field in step.fields:
            written[step.title][paper.label(field)] = str(answers()[step.name][field.name])
    written["who witnesses"] = {"name": "M. Baker", "initials": "MB", "stays with the hot oven": True}
    person = Answers(paper.keyed(written)[0])
    for step in STEPS:
        for field in step.fields:
            assert person.entry(step, field) == answers()[step.name][field.name]
    assert person.by(BY_NAME["dead"]) == ("M. Baker", "MB") and person.stays()


def test_entries_of_a_step_have_words_of_their_own():
    for step in STEPS:
        assert len({paper.label(field) for field in step.fields}) == len(step.fields)
    assert len({step.title for step in STEPS}) == len(STEPS)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"lamps": {}}, "no step is called 'lamps'"),
        ({"by": 3}, "by: must be a table"),
        ({"papers": {"plat": "x"}}, "'plat' is no question of 'papers'"),
        ({"who witnesses": {"stay": True}}, "'stay' is no question"),
    ],
)
def test_question_that_nobody_asks_is_told(values, words):
    assert words in paper.keyed(values)[1]


def test_what_the_file_leaves_empty_is_asked_at_the_terminal():
    person, _ = typing("0.05", "E. Lector", "EL")
    both = Answers({"electrical": {"earth_ohm": 0.09}}, person)
    assert both.entry(BY_NAME["electrical"], EARTH) == 0.09
    assert Answers({}, person).entry(BY_NAME["electrical"], EARTH) == 0.05
    assert both.by(BY_NAME["papers"]) == ("E. Lector", "EL")


def test_names_are_explained_and_long_questions_wrap():
    prompts = []
    person, told = typing("?", "M. Baker", "?", "MB", "yes")
    ask = person.ask
    person.ask = lambda prompt: prompts.append(prompt) or ask(prompt)
    assert person.by(BY_NAME["papers"]) == ("M. Baker", "MB")
    assert sum("goes into the record" in " ".join(line.split()) for line in [" ".join(told)]) == 1
    contacts = next(field for field in BY_NAME["papers"].fields if field.name == "contacts")
    assert person.entry(BY_NAME["papers"], contacts) == "yes"
    assert all(len(line) <= 78 for line in told) and all(len(prompt) <= 64 for prompt in prompts)


@pytest.mark.parametrize(("text", "there"), [("yes", True), ("y", True), ("", False), ("no", False)])
def test_presence_needs_a_yes(text, there):
    assert typing(text)[0].stays() is there


@pytest.mark.parametrize("by", [{}, {"stays": "yes"}, {"stays": 1}, {"stays": False}])
def test_file_without_a_plain_true_does_not_stay(by):
    assert Answers({"by": by}).stays() is False


def test_every_act_by_hand_is_said_and_waited_for():
    said, lines = [], []
    person = Terminal(lambda prompt: said.append(" ".join([*lines, prompt])) or lines.clear() or "", lines.append)
    hands = Hands(person)
    hands.without_mains()
    hands.warm("dome")
    hands.lamps()
    hands.elements()
    hands.selector("off")
    hands.enable(False)
    hands.limiter_down(150.0)
    hands.limiter_back()
    words = ("pull the plug", "dome probe", "lamps", "pull the plug", "to OFF", "open ENABLE", "dial", "reset")
    assert len(said) == len(words) and all(word in prompt for word, prompt in zip(words, said, strict=True))


def test_every_step_says_caution_and_what_to_do():
    for step in STEPS:
        lines = describe(step)
        assert lines[2].startswith("  CAUTION: ") and len(lines[2]) > 30 and len(lines) >= 4


@pytest.mark.parametrize(
    ("content", "word"),
    [(None, "cannot be read"), ("a = ", "not TOML"), ("\udcff", "not TOML")],
)
def test_unusable_file_is_one_line(tmp_path, content, word):
    path = tmp_path / "answers.toml"
    if content is not None:
        path.write_bytes(content.encode("utf-8", "surrogateescape"))
    with pytest.raises(AnswerError, match=word) as caught:
        Answers.read(path)
    assert "\n" not in str(caught.value)


def test_step_may_be_witnessed_by_another_person():
    person = Answers(answers())
    assert person.by(BY_NAME["electrical"]) == ("E. Lector", "EL")
    assert person.by(BY_NAME["dead"]) == ("M. Baker, hall kitchen", "MB")
