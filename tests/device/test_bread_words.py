"""What the link answers about breads and the evening so far, word by word: verdict, bread, night."""

import itertools
import types

import pytest

from host.shim.loader import world

W = world()
words_of = W.load("tizzone.link.bread_commands").HANDLERS
R = W.load("tizzone.evening.breads")


def told(**values):
    return types.SimpleNamespace(**values)


class App:
    """An evening with three breads, the last one still in the oven; `did`: what was done to it."""

    def __init__(self):
        self.did = []
        self.sequence = told(session=1)
        book = R.Breads()
        for n in range(3):
            book.begin(n * 200, 440, 450, 50, 0)
        self.evening = told(
            breads=book, flow=None, interrupted=0, leg=1, done=7, at_s=900, session_ms=61_999,
            plan=told(name="hall", leg_values=lambda app: (405, 20, 80, 50, 0)),
            note_breads=lambda: self.did.append("noted"), forget_interrupted=lambda: self.did.append("forgot"),
        )  # fmt: skip

    def say(self, line):
        words = line.split()
        return words_of[words[0]](self, words[1:])

    def kept(self):
        """The words in the book: [(top, base), ...]."""
        book = self.evening.breads
        return [(book.get(n, R.TOP), book.get(n, R.BASE)) for n in range(book.count)]


@pytest.fixture
def app():
    return App()


def test_verdict_moves_the_share_of_the_top_and_is_stored(app):
    assert app.say("verdict pale right 1") == "ok share 50->54: top pale, base right"
    assert app.did == ["noted"] and app.kept() == [(1, 2), (0, 0), (0, 0)]
    assert app.say("verdict right pale 2") == "ok share 54->52: top right, base pale; let the stone recover longer"
    assert app.kept() == [(1, 2), (2, 1), (0, 0)]
    assert app.say("verdict dark dark 2") == "ok share stays 52: both dark; bake 10 s less, or 10 degrees cooler"
    assert app.evening.breads.adjust_pct == 2


@pytest.mark.parametrize(("top", "base"), list(itertools.product(("pale", "right", "dark"), repeat=2)))
def test_verdict_takes_each_pair_of_words(app, top, base):
    assert app.say(f"verdict {top} {base} 1").startswith("ok share ")
    assert app.kept()[0] == (R.WORDS.index(top), R.WORDS.index(base))


def test_verdict_without_a_number_is_of_the_last_bread_that_is_out(app):
    assert app.say("verdict pale right") == "no bread 3 is not out yet"
    assert app.say("verdict pale right 3") == "no bread 3 is not out yet"
    assert app.say("verdict pale right 2").startswith("ok")
    app.evening.breads.open = 0
    assert app.say("verdict right right").startswith("ok")
    assert app.kept() == [(0, 0), (1, 2), (2, 2)]


@pytest.mark.parametrize(
    ("line", "reply"),
    [
        ("verdict", "no say: verdict TOP BASE, each pale, right or dark"),
        ("verdict pale", "no say: verdict TOP BASE, each pale, right or dark"),
        ("verdict pale right 1 1", "no say: verdict TOP BASE, each pale, right or dark"),
        ("verdict none right 1", "no say: verdict TOP BASE, each pale, right or dark"),
        ("verdict pale none 1", "no say: verdict TOP BASE, each pale, right or dark"),
        ("verdict pale black 1", "no say: verdict TOP BASE, each pale, right or dark"),
        ("verdict pale right x", "no the bread's number is a whole number"),
        ("verdict pale right -1", "no the bread's number is a whole number"),
        ("verdict pale right 0", "no bread 0 is not out yet"),
        ("verdict pale right 4", "no bread 4 is not out yet"),
    ],
)
def test_verdict_that_cannot_be_taken_says_why_and_changes_nothing(app, line, reply):
    assert app.say(line) == reply
    assert app.did == [] and app.kept() == [(0, 0)] * 3 and app.evening.breads.adjust_pct == 0


def test_verdict_before_the_first_bread_is_refused(app):
    app.evening.breads.clear()
    assert app.say("verdict pale right") == "no bread 0 is not out yet"


def test_plan_that_goes_by_heat_says_what_it_has_moved(app):
    app.evening.flow = told(moved_line=lambda book: f"time follows bread {book.count}")
    assert app.say("verdict pale pale 1") == "ok share stays 50: both pale; time follows bread 3"


def test_bread_is_told_by_its_number_and_the_last_without_one(app):
    book = app.evening.breads
    for line, n in (("bread", 2), ("bread 3", 2), ("bread 1", 0)):
        assert app.say(line) == "ok " + book.line(n)
    for line in ("bread 0", "bread 4"):
        assert app.say(line) == "no breads=3"
    for line in ("bread x", "bread -1", "bread 1 2"):
        assert app.say(line) == "no say: bread 1"
    book.clear()
    assert app.say("bread") == "no breads=0"


def test_evening_so_far_is_told_from_its_start(app):
    app.evening.breads.adjust_pct = -6
    assert app.say("night") == "ok plan=hall interrupted=none leg=2 done=7 breads=3 at_s=61 adjust=-6"
    app.evening.session_ms = 61_000
    assert " at_s=61 " in app.say("night")
    app.sequence.session = 0
    assert app.say("night") == "ok plan=hall interrupted=none leg=2 done=7 breads=3 at_s=900 adjust=-6"


@pytest.mark.parametrize(("interrupted", "word"), [(1, "power-cut"), (2, "trip")])
def test_interrupted_evening_says_how_it_goes_on(app, interrupted, word):
    app.evening.interrupted = interrupted
    reply = app.say("night")
    assert f" interrupted={word} " in reply
    assert reply.endswith(" start goes on with this evening, night new forgets it")


def test_interrupted_evening_is_forgotten_between_evenings_only(app):
    assert app.say("night new") == "no an evening is on: stop it first"
    assert app.did == []
    app.sequence.session = 0
    assert app.say("night new") == "ok"
    assert app.did == ["forgot"]
    assert app.say("night old").startswith("ok plan=")
