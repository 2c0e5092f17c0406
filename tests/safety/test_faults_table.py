"""boards/FAULTS.md says what the code does."""

import types

import pytest
from safety_bench import L, load

from tools import faults_table

SENTENCES, CONDITIONS = load("safety.sentences"), load("safety.conditions")


def test_faults_table_is_what_the_code_says():
    text = faults_table.FILE.read_text(encoding="utf-8")
    assert text == faults_table.table(L, SENTENCES, CONDITIONS)
    assert text.count("\n| ") == L.COUNT - 1 + 2


def test_every_rule_that_keeps_its_own_time_states_it():
    seen = faults_table.how_seen(L)
    for name in (
        "relay-welded",
        "no-current",
        "half-wave",
        "no-rise",
        "probe-fell",
        "undriven-rise",
        "reading-frozen",
    ):
        assert seen[name][1] > 0


def test_condition_without_a_text_or_a_text_without_a_condition_is_refused():
    more = types.SimpleNamespace(CONDITIONS=CONDITIONS.CONDITIONS + (("new-one", L.WARN, 0),))
    rows = types.SimpleNamespace(rows=lambda: [*SENTENCES.rows(), ("New.", "Look.")])
    with pytest.raises(KeyError):
        faults_table.table(L, rows, more)
    with pytest.raises(ValueError, match="sentences"):
        faults_table.table(L, SENTENCES, more)
    fewer = types.SimpleNamespace(**vars(L))
    fewer.CONDITION_NAMES = L.CONDITION_NAMES[:-1]
    with pytest.raises(ValueError, match="probe-slipped"):
        faults_table.table(fewer, SENTENCES, CONDITIONS)


@pytest.mark.parametrize(
    ("ms", "said"), [(0, "same tick"), (500, "500 ms (2 ticks)"), (501, "501 ms (3 ticks)"), (90_000, "90 s")]
)
def test_times_are_said_plainly(ms, said):
    assert faults_table.fast(ms, 250) == said
