"""The link's words counters and handover. Loaded for one answer, see commands.py."""

from tizzone.evening.counters import NAMES
from tizzone.link.commands import handover_state
from tizzone.safety import limits as L

MEANINGS = (  # of the counters, in their order
    "minutes with the dome above 250 degrees Celsius",
    "minutes with a relay on",
    "evenings begun",
    "breads baked",
    "trips",
    "evenings ended by a power cut",
    "top relay switched on",
    "deck relay switched on",
    "contactor closed",
    "ticks made late by a flash write of our own, with everything off",
)


def counters(app, words):
    """Service counters; `counters NAME` says what one means."""
    if words:
        if len(words) > 1 or words[0] not in NAMES:
            return "no such counter"
        meaning = MEANINGS[NAMES.index(words[0])]
        return "ok {}={} ({})".format(words[0], app.evening.counters.values[words[0]], meaning)
    return "ok " + app.evening.counters.line()


def handover(app, words):
    """May the oven's own thermostat take over, and what to do."""
    word, below_c = handover_state(app)
    believed = app.dome.usable and not app.supervisor.any_of(L.DOME_DOUBTS)
    now = str(app.dome.pv_mc // 1000) if believed else "unknown"
    say = {
        "ours": "an evening is on: stop it, let it cool below {}".format(below_c),
        "wait": "dome {}: let it cool below {} first".format(now, below_c),
        "may": "dome {}: turn the selector through OFF to the oven's own".format(now),
        "theirs": "it has the oven; to take it back turn through OFF to OURS, then start",
        "back": "dome {}: too hot for it, turn the selector to OFF until it is below {}".format(now, below_c),
    }
    return ("ok " if word in ("may", "theirs") else "no ") + "handover=" + word + " " + say[word]


HANDLERS = {"counters": counters, "handover": handover}
