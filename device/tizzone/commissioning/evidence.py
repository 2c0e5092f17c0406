"""What each measured witness step watches, tick by tick: chips, contacts, currents and the board's own pins.

Each function gets the Witness, the App, what this tick knows (Seen) and the tick's length in ms; it marks evidence or
fails the step. Integers only; nothing is allocated but the words of a failure.
"""

from micropython import const

from tizzone.safety import limits as L

COLD_MC = const(45_000)  # the dead test wants a cold oven
_HAND_MK = const(3_000)  # a warm hand lifts a probe at room temperature by more; house
_OTHER_MK = const(2_000)  # while the other probe, not touched, stays below this
_LAMP_MK = const(5_000)
CUT_FROM_MC = const(35_000)  # the lowest high limit is 30 degrees Celsius: the reading must lie above
_CUT_MK = const(2_000)  # the test lowers the limit this far below the reading
_FALL_MS = const(1_000)  # a contactor is open by then, monostable included
_BURN_MC = const(110_000)  # smoke burn-off counts above this ...
_BURN_MS = const(600_000)  # ... and takes ten minutes; house
_REACH_MK = const(5_000)
_LIMITER_FROM_MC = const(100_000)  # the limiter must open by heat, not by its button in a cold oven
_FULL_MC = const(450_000)
_FULL_MS = const(60_000)


def _tripped(w, app, expected):
    """A trip that the step did not ask for ends it."""
    first = app.supervisor.first_out
    if first == L.NONE or first == expected:
        return False
    w.fail("trip " + L.CONDITION_NAMES[first])
    return True


def _current(seen):
    """1 a sensor sees current, 0 none does, -1 none is wired."""
    if seen.top_sense > 0 or seen.deck_sense > 0:
        return 1
    return 0 if seen.top_sense == 0 or seen.deck_sense == 0 else -1


def _dead(w, app, seen, dt_ms):
    if w.heated or app.sequence.session:
        w.fail("heat was asked for during the dead test")
    elif _current(seen) > 0 or seen.mirror_open == 0:
        w.fail("current flows or the contactor is closed: is the mains off?")
    elif not seen.readback_ok:
        w.fail("a heat pin does not follow")
    elif app.dome.usable and (app.stone is None or app.stone.usable):
        dome_mk = app.dome.pv_mc - w.base_mc
        stone_mk = app.stone.pv_mc - w.base_stone_mc if app.stone else 0
        if dome_mk <= -_HAND_MK or stone_mk <= -_HAND_MK:
            w.fail("a reading fell: that thermocouple is reversed, or a warm probe was let go")
        elif not w.bits & 1:
            if stone_mk >= _HAND_MK:
                w.fail("the stone reading rose first: are the two probes swapped?")
            elif dome_mk >= _HAND_MK and stone_mk < _OTHER_MK:
                w.mark(0)
                w.value_mc = dome_mk
        elif stone_mk >= _HAND_MK:
            w.mark(1)


def _lamp(w, app, seen, dt_ms):
    if _tripped(w, app, L.NONE):
        return
    if seen.top_on and seen.top_sense == 2:  # full current; a zone without a sensor proves nothing
        w.mark(0)
    if seen.deck_on and seen.deck_sense == 2:
        w.mark(1)
    if app.sequence.session and app.dome.usable and app.dome.pv_mc >= w.base_mc + _LAMP_MK:
        w.mark(2)
        w.value_mc = app.dome.pv_mc


def _watch_fall(w, app, bit, dt_ms):
    """Evidence that opening a contact opened the contactor before the program could: it was closed at the last tick
    and is open when the loss is first seen. Seen a tick later it may have been the program: the act is repeated."""
    if w.lost_ms < 0 and w.was_closed:
        w.lost_ms = 0
        if app.seen.mirror_open == 1 and app.heater.top.on == 0 and app.heater.deck.on == 0:
            w.mark(bit)
    elif w.lost_ms >= 0:
        w.lost_ms += dt_ms
        if w.lost_ms >= _FALL_MS and app.seen.mirror_open == 0:
            w.fail("the contactor did not fall")


def _transfer(w, app, seen, dt_ms):
    if _tripped(w, app, L.NONE):
        return
    if seen.enable and seen.selector_ours:
        w.lost_ms = -1
    elif seen.enable:
        _watch_fall(w, app, 0, dt_ms)
    elif seen.selector_ours:
        _watch_fall(w, app, 1, dt_ms)
    if seen.fan_on and seen.fan_ok and app.sequence.session:
        w.mark(2)
        w.count_ms = 0
    elif not seen.fan_on:
        w.count_ms += dt_ms  # a fan takes a while to come to rest
        if not seen.fan_ok and w.bits & 4:
            w.mark(3)
        elif w.count_ms >= 60_000:
            w.fail("the fan still turns: is its contact sensed?")


def _cutoff(w, app, seen, dt_ms):
    if _tripped(w, app, L.HIGH_LIMIT):
        return
    sup = app.supervisor
    heater = app.heater
    on = heater.top.on or heater.deck.on
    if w.bits & 1 and not w.bits & 2:  # the tick after the limit was lowered
        if sup.first_out != L.HIGH_LIMIT or sup.permit.granted or on or not heater.follows():
            w.fail("heat did not stop in one tick")  # the lowered limit stays in force until a reset
            return
        w.mark(1)
    elif w.bits & 2:
        w.count_ms += dt_ms
        if seen.mirror_open == 1 and _current(seen) <= 0:
            w.mark(2)
            sup.restore_limit()
        elif w.count_ms >= _FALL_MS:
            w.fail("the contactor did not fall, or current still flows")
    elif w.cut_asked and on and sup.permit.granted and w.was_closed and _current(seen) != 0:
        if app.dome.limit_mc >= CUT_FROM_MC:
            w.mark(0)
            w.value_mc = app.dome.limit_mc
            sup.lower_limit(app.dome.limit_mc - _CUT_MK)


def _first_heat(w, app, seen, dt_ms):
    if _tripped(w, app, L.NONE) or not app.sequence.session or not app.dome.usable:
        return
    pv_mc = app.dome.pv_mc
    if pv_mc >= L.RELEASES_C[1] * 1000 - _REACH_MK:
        w.mark(0)
    if pv_mc > w.value_mc:
        w.value_mc = pv_mc
    if pv_mc >= _BURN_MC:
        w.count_ms += dt_ms
        if w.count_ms >= _BURN_MS:
            w.mark(1)


def _limiter(w, app, seen, dt_ms):
    if _tripped(w, app, L.LIMITER_OPEN):
        return
    if w.bits & 1:
        if seen.limit_ok:
            w.mark(1)
        return
    if seen.limit_ok:
        w.lost_ms = -1
    elif app.dome.usable and app.dome.pv_mc >= _LIMITER_FROM_MC:
        _watch_fall(w, app, 0, dt_ms)
        w.value_mc = app.dome.pv_mc


def _full_heat(w, app, seen, dt_ms):
    if _tripped(w, app, L.NONE) or not app.sequence.session or not app.dome.usable:
        return
    pv_mc = app.dome.pv_mc
    if pv_mc > w.value_mc:
        w.value_mc = pv_mc
    goal_mc = min(_FULL_MC, app.supervisor.ceiling_mc) - _REACH_MK
    w.count_ms = w.count_ms + dt_ms if pv_mc >= goal_mc else 0
    if w.count_ms >= _FULL_MS:
        w.mark(0)


WATCHES = (None, None, _dead, _lamp, _transfer, _cutoff, _first_heat, _limiter, None, _full_heat)
