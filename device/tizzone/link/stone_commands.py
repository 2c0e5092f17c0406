"""The link's words about the stone: spot, stone, pace. Loaded for one answer, see commands.py."""

from tizzone.control import stone as T
from tizzone.control.forecast import FAR_S
from tizzone.evening import sequence as S

# Fireclay and cordierite: about 0.9, from memory. The 17 K: Planck's law over 8..14 um at 450 degrees Celsius.
HOW = "bare stone, its middle, thermometer at emissivity 0.90; set 0.05 too high it shows 17 K too little at 450"


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


HANDLERS = {"spot": spot, "stone": stone, "pace": pace}
