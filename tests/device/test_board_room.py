"""What is loaded on demand finds no room: the question is refused in words, and the board goes on as it was."""

import pytest

from host.simulator.rehearsal import Rehearsal


@pytest.fixture
def full(monkeypatch):
    """Call with a module's name: a settled board on which there is no room to load it."""
    made = []

    def board(name):
        evening = Rehearsal(cook=None)
        made.append(evening)
        evening.advance(5)
        world, load = evening.world, evening.world.load

        def refused(asked):
            if asked == name:
                raise MemoryError("memory allocation failed")
            return load(asked)

        parent, _, last = name.rpartition(".")
        monkeypatch.delitem(world.modules, name, raising=False)
        monkeypatch.delattr(load(parent), last, raising=False)
        monkeypatch.setattr(world, "load", refused)
        return evening

    yield board
    for evening in made:
        evening.close()


@pytest.mark.parametrize(
    ("module", "line"),
    [
        ("tizzone.commissioning.witness", "witness"),
        ("tizzone.learning.learning", "learn start"),
        ("tizzone.learning.experiment", "learn start"),
    ],
)
def test_board_without_room_for_what_is_asked_refuses_and_stays_idle(full, module, line):
    evening = full(module)
    assert evening.send(line).startswith("~no the board has no room for it just now")
    evening.advance(5)
    assert (evening.state, evening.trip) == ("idle", "none")
    assert evening.send("status").startswith("~ok")


def test_board_without_room_for_its_sentences_tells_a_trip_by_its_name(full):
    evening = full("tizzone.safety.sentences")
    assert evening.send("alarms probe-open").startswith("~ok")
    assert "probe-open" in evening.send("alarms probe-open")
    evening.advance(5)
    assert (evening.state, evening.trip) == ("idle", "none")


LINK = "tizzone.link."


@pytest.mark.parametrize(
    ("line", "gone", "stays"),
    [
        ("setting bake_s", ("idle_commands",), ()),
        ("correction dome 0:x", ("idle_commands",), ()),
        ("learn start", ("learn_commands",), ()),
        ("counters", (), ("oven_commands",)),  # from sources those of an evening stay: they take too long to make
        ("bread 1", (), ("bread_commands",)),
    ],
)
def test_board_lets_go_of_what_one_answer_needed_on_an_idle_board(line, gone, stays):
    evening = Rehearsal(cook=None)
    evening.advance(5)
    evening.outside.enable = False  # so that nothing begins
    evening.advance(1)
    modules, link = evening.world.modules, evening.world.load("tizzone.link")
    evening.send(line)
    for name in (*gone, "tizzone.memory.settings", "tizzone.parts"):
        full = name if name.startswith("tizzone.") else LINK + name
        assert full not in modules
    assert not any(hasattr(link, name) for name in gone)
    assert all(LINK + name in modules for name in stays)
    evening.close()
