"""Words of the link whose module is loaded for one answer: which word lies where, what is let go, what fails."""

import sys
import types

import pytest

from host.shim.loader import world

W = world()
M = W.load("tizzone.link.commands")
for room in ("memory", "commissioning", "probes", "evening", "link"):  # the rooms that modules are let go from
    W.load("tizzone." + room)
WHERE = {
    "plan": "plan", "spot": "stone", "stone": "stone", "pace": "stone", "verdict": "bread", "bread": "bread",
    "night": "bread", "counters": "oven", "handover": "oven", "setting": "idle", "correction": "idle",
}  # fmt: skip
IDLE = ("tizzone.memory.settings", "tizzone.commissioning.release", "tizzone.parts", "tizzone.probes.chips")
EVENING = ("tizzone.evening.advice", "tizzone.evening.bake_plan")


class Room:
    """What may be imported: `modules` as the board has them, `tries` of each, `refuses`: MemoryErrors still to come."""

    def __init__(self, monkeypatch):
        self.tries, self.refuses, self.gone, self.collected = [], 0, [], 0
        self.real = M.__dict__["__builtins__"]["__import__"]
        monkeypatch.setitem(M.__dict__["__builtins__"], "__import__", self.load)
        self.order = []
        monkeypatch.setattr(M, "let_go", self.let_go)
        monkeypatch.setattr(M.gc, "collect", self.collect)

    def let_go(self, *names):
        self.gone.append(names)
        self.order.append("let go")

    def collect(self):
        self.order.append("collected")
        self.collected += 1

    def load(self, name, *more):
        if not name.endswith("_commands"):
            return self.real(name, *more)
        self.tries.append(name)
        self.order.append("tried")
        if self.refuses:
            self.refuses -= 1
            raise MemoryError
        word = types.SimpleNamespace(HANDLERS={w: lambda app, words: (app, words) for w in [*WHERE, "learn"]})
        M.sys.modules[name] = word
        return word


@pytest.fixture
def room(monkeypatch):
    before = dict(M.sys.modules)
    yield Room(monkeypatch)
    M.sys.modules.clear()
    M.sys.modules.update(before)
    assert M.sys.modules is not sys.modules  # the board's, never ours


@pytest.mark.parametrize("word", WHERE)
def test_word_is_answered_by_the_module_it_lies_in(room, word):
    assert M.answer("app", word + " a b") == ("app", ["a", "b"])
    assert room.tries == [f"tizzone.link.{WHERE[word]}_commands"]


def test_learn_start_has_a_module_of_its_own(room):
    assert M.answer("app", "learn start") == ("app", [])
    assert room.tries == ["tizzone.link.learn_commands"]


@pytest.mark.parametrize("compiled", [False, True])
@pytest.mark.parametrize(("line", "also"), [("plan", None), ("setting x", "idle"), ("learn start", "learn")])
def test_what_an_idle_board_alone_needs_is_let_go_after_each_answer(room, monkeypatch, line, also, compiled):
    monkeypatch.setattr(M, "COMPILED", compiled)
    M.answer("app", line)
    last = [(f"tizzone.link.{also}_commands",)] if also else [("tizzone.link.plan_commands", *EVENING)] * compiled
    assert room.gone == [IDLE, *last] and room.collected == 0


def test_compiled_board_lets_the_words_of_an_evening_go_as_well(room, monkeypatch):
    monkeypatch.setattr(M, "COMPILED", True)
    M.answer("app", "verdict pale pale")
    assert room.gone == [IDLE, ("tizzone.link.bread_commands", *EVENING)]


def test_module_without_room_is_tried_once_more_after_clearing_up(room):
    room.refuses = 1
    assert M.answer("app", "plan x") == ("app", ["x"])
    assert room.tries == ["tizzone.link.plan_commands"] * 2 and room.collected == 1
    assert room.gone == [("tizzone.link.plan_commands",), IDLE]
    assert room.order == ["tried", "let go", "collected", "tried", "let go"]  # what had come of it goes first


def test_board_without_room_says_so_and_has_done_nothing(room):
    room.refuses = 2
    assert M.answer("app", "plan x") == M.NO_ROOM
    assert room.gone[-1] == IDLE


def test_word_that_runs_out_of_memory_says_so(room, monkeypatch):
    def full(app, words):
        raise MemoryError

    load = room.load

    def loaded(name, *more):
        made = load(name, *more)
        if name.endswith("_commands"):
            made.HANDLERS["plan"] = full
        return made

    monkeypatch.setitem(M.__dict__["__builtins__"], "__import__", loaded)
    assert M.answer("app", "plan x") == M.NO_ROOM
    assert room.gone == [IDLE]
