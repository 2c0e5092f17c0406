"""The link's words about plan, stone, breads, handover and counters. None of them starts heat. Loaded for one answer,
see commands.py.
"""

from tizzone.control import stone as T
from tizzone.control.forecast import FAR_S
from tizzone.evening import bake_plan as B
from tizzone.evening import breads as R
from tizzone.evening import sequence as S
from tizzone.evening.counters import NAMES
from tizzone.evening.plan_in_force import too_hot
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
STORY = ("none", "power-cut", "trip")
# Fireclay and cordierite: about 0.9, from memory. The 17 K: Planck's law over 8..14 um at 450 degrees Celsius.
HOW = "bare stone, its middle, thermometer at emissivity 0.90; set 0.05 too high it shows 17 K too little at 450"


def plan(app, words):
    """plan [show N | begin NAME END_C LEGS | leg N V... | end | none]: the plan in force, or send one in lines."""
    in_force = app.evening.plan
    if not words:
        seq = app.sequence
        legs = len(seq.legs) or 1
        return "ok plan={} leg={}/{} breads={}/{} end_c={}".format(
            in_force.name, seq.leg + 1, legs, seq.leg_done, seq.breads, seq.cool_mc // 1000
        )
    act = words[0]
    if act == "show" and len(words) == 2 and words[1].isdigit():
        number = int(words[1])
        if in_force.value is None or not 1 <= number <= len(in_force.value["legs"]):
            return "no such leg"
        leg = in_force.value["legs"][number - 1]
        return "ok " + " ".join([B.FIELDS[i][0] + "=" + str(leg[i]) for i in range(len(leg))])
    if app.sequence.state != S.IDLE or app.supervisor.permit.granted:
        return "no plans change only while idle"
    if act == "none" and len(words) == 1:
        in_force.use(app, None)
        app.evening.forget_interrupted()
        return _kept(app, {}, "ok plan=settings")
    try:
        values = [int(word) for word in words[(2 if act == "begin" else 1) :]]
    except ValueError:
        return "no whole numbers are needed"
    if act == "begin" and len(values) == 2:
        return _begin_plan(in_force, words[1], *values)
    if act == "leg" and in_force.incoming is not None and len(values) > 1:
        return _add_leg(in_force.incoming, values[0], values[1:])
    if act == "end" and not values:
        return _take_plan(app, in_force)
    return "no say: plan begin NAME END_C LEGS"


# any leg that is one, to check the rest of a plan by
B_LEG = tuple([60 if row[0] == "dome_c" else row[1] for row in B.FIELDS])


def _begin_plan(in_force, name, end_c, legs):
    fault = B.plan_fault({"name": name, "end_c": end_c, "legs": [B_LEG]})
    if fault or not 1 <= legs <= B.MAX_LEGS:
        return "no " + (fault or "a plan has 1 to {} legs".format(B.MAX_LEGS))
    in_force.incoming = {"name": name, "end_c": end_c, "legs": [], "count": legs}
    return "ok"


def _add_leg(incoming, number, leg):
    if number != len(incoming["legs"]) + 1 or number > incoming["count"]:
        return "no leg {} is awaited".format(len(incoming["legs"]) + 1)
    fault = B.leg_fault(leg)
    if fault:
        return "no leg {}: {}".format(number, fault)
    incoming["legs"].append(leg)
    return "ok"


def _take_plan(app, in_force):
    made, in_force.incoming = in_force.incoming, None
    if made is None or len(made["legs"]) != made.pop("count"):
        return "no legs are missing: begin again"
    fault = B.plan_fault(made) or too_hot(app, made)
    if fault:
        return "no " + fault
    other = made["name"] != in_force.name
    in_force.use(app, made)
    if other:
        app.evening.forget_interrupted()
    return _kept(app, made, "ok plan=" + made["name"])


def _kept(app, value, words):
    if app.memory.keep("plan", value):
        return words
    return words + " but the board could not store it: a power cut forgets it"


def spot(app, words):
    """spot C: surface of the bare stone by a hand-held thermometer, its emissivity set for the stone (about 0.9)."""
    try:
        value_c = float(words[0]) if len(words) == 1 else None
    except ValueError:
        value_c = None
    if value_c is None or not -20.0 < value_c < 650.0:  # also refuses NaN
        return "no say: spot 431 (" + HOW + ")"
    if app.sequence.stage == S.BAKE:
        return "no a bread lies on the stone"
    stone = app.evening.stone
    sup = app.supervisor
    if sup.first_out and value_c < 60.0:  # no lesson for the model: is the oven cold?
        if not sup.warmth.attest(app.seen, int(value_c * 1000)):
            return "no proof of cold: it takes an hour without heat, and each probe below 60"
        return "ok off_k={:.0f} {} cold: acknowledge may follow".format(value_c - stone.surface_c, _stone(app))
    expected_k = stone.sigma_k
    off_k = stone.spot(value_c)
    far = off_k * off_k > 9.0 * (expected_k * expected_k + 16.0)
    return "ok off_k={:.0f} {}{}".format(
        off_k, _stone(app), " far: was it bare stone, its middle, and the right emissivity?" if far else ""
    )


def _stone(app):
    stone = app.evening.stone
    return "surface_c={:.0f} core_c={:.0f} sigma_k={:.0f} basis={} spots={}".format(
        stone.surface_c, stone.core_c, stone.sigma_k, T.BASES[stone.basis], stone.spots
    )


def stone(app, words):
    """stone [forget]: what is thought of it; basis=typical means a guess."""
    if words == ["forget"]:
        if app.sequence.session:
            return "no an evening is on: stop it first"
        app.evening.stone.forget()
        return "ok" if app.memory.keep("stone", {}) else "no the board cannot store it"
    wanted_c = app.evening.plan.leg_values(app)[0]
    ready_s = app.evening.forecast.ready_s
    when = "unknown" if ready_s < 0 else "beyond-90-min" if ready_s >= FAR_S else str(int(ready_s))
    return "ok {} wanted_c={} ready={} ready_s={}{}".format(
        _stone(app), wanted_c, app.sequence.stone_ready if wanted_c else "none", when,
        " an estimate: take a spot" if app.evening.stone.basis <= T.LEARNED else "",
    )  # fmt: skip


def pace(app, words):
    """Breads an hour by the stone's model; heat got and wanted, where the plan goes by heat."""
    if app.evening.flow and app.evening.flow.base_kj:
        return "ok " + app.evening.flow.line()
    cycle_s = app.evening.forecast.cycle_s
    if cycle_s < 0:
        return "no pace is known yet: it needs a plan with a wanted stone, under way"
    return "ok cycle_s={:.0f} breads_h={:.1f} basis={}".format(
        cycle_s, 3600.0 / cycle_s, T.BASES[app.evening.stone.basis]
    )


def verdict(app, words):
    """verdict TOP BASE [N]: pale, right or dark; of the last bread, or of bread N."""
    book = app.evening.breads
    if len(words) not in (2, 3) or not (words[0] in R.WORDS[1:] and words[1] in R.WORDS[1:]):
        return "no say: verdict TOP BASE, each pale, right or dark"
    if len(words) == 3 and not words[2].isdigit():
        return "no the bread's number is a whole number"
    n = int(words[2]) if len(words) == 3 else book.count
    if not 1 <= n <= book.count or (book.open and n == book.count):
        return "no bread {} is not out yet".format(n)
    leg_pct = app.evening.plan.leg_values(app)[3]
    before_pct = leg_pct + book.adjust_pct
    change, why, advice = book.take_words(n - 1, R.WORDS.index(words[0]), R.WORDS.index(words[1]), before_pct)
    app.evening.note_breads()
    what = "share {}->{}".format(before_pct, before_pct + change) if change else "share stays {}".format(before_pct)
    if app.evening.flow:
        advice = app.evening.flow.moved_line(book)  # time and pace follow: nothing left to do by hand
    return "ok {}: {}{}".format(what, why, "; " + advice if advice else "")


def bread(app, words):
    """bread [N]: record of bread N (the last one without N)."""
    book = app.evening.breads
    if len(words) > 1 or (words and not words[0].isdigit()):
        return "no say: bread 1"
    n = int(words[0]) if words else book.count
    if not 1 <= n <= book.count:
        return "no breads={}".format(book.count)
    return "ok " + book.line(n - 1)


def evening(app, words):
    """night [new]: what happened so far, also before a power cut; `new` forgets an interrupted evening."""
    n = app.evening
    if words == ["new"]:
        if app.sequence.session:
            return "no an evening is on: stop it first"
        n.forget_interrupted()
        return "ok"
    seq = app.sequence
    at_s = n.session_ms // 1000 if seq.session else n.at_s
    text = "ok plan={} interrupted={} leg={} done={} breads={} at_s={} adjust={}".format(
        n.plan.name, STORY[n.interrupted], n.leg + 1, n.done, n.breads.count, at_s, n.breads.adjust_pct
    )
    if n.interrupted:
        text += " start goes on with this evening, night new forgets it"
    return text


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


HANDLERS = {
    "plan": plan, "spot": spot, "stone": stone, "pace": pace, "verdict": verdict, "bread": bread, "night": evening,
    "counters": counters, "handover": handover,
}  # fmt: skip
