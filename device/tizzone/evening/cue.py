"""The cook's cue: what the board does, what a person is to do now and when the next comes, in words.

Made once, here, from what the board knows; panel, link and every view of the laptop show the same words. `~` marks
what is foretold; a time without it is counted. Outside the safety path: it reads and decides nothing.
"""

import math

from micropython import const

from tizzone.control.forecast import BACK_S, FAR_S
from tizzone.control.stone import LEARNED
from tizzone.evening import sequence as S
from tizzone.safety import limits as L
from tizzone.safety.permissives import permissives

_TAKE_MS = const(20_000)  # so long after a bake the bread is to be taken out; house
_SOON_MS = const(10_000)  # before that moment; the buzzer's own beat
_SLOWEST_K_S = const(0.01)  # a dome that rises more slowly foretells nothing; house
_SHORT_S = const(10.0)
# Its rise is taken to fall evenly, to nothing so far beyond the setpoint. Chosen on the simulated standard oven at 450
# degrees, whose preheat is then foretold within 4 min, but for the first minutes, where it is up to 14 min short.
_BEYOND_K = const(200.0)
# In the order of `permissives`: what is wrong, what to do. One text: a string each would cost the heap twice.
_AGAINST = (
    "still starting|wait|a trip stands|acknowledge|held|find the cause|stop is asked|start again|ENABLE is open|"
    "close ENABLE|limiter is open|check limiter|switch not OURS|turn it to OURS|fan stands still|check the fan|"
    "door is open|shut the door|no dome reading|check the probe|dome is too hot|let it cool"
)
_ENDED = ("idle", "", "", "cooling", "stopped", "done", "tripped")
_REASONS = ("nobody answered", "evening too long")


def against(app):
    """[(what stands against heat, what to do), ...] in words of at most 16 and 15 letters."""
    words = _AGAINST.split("|")
    rows = permissives(app)
    found = [(words[2 * i], words[2 * i + 1]) for i in range(len(rows)) if not rows[i][1]]
    present = app.supervisor.present
    for i in (0, 1):
        if present[(L.ATTENDANCE, L.SESSION_LONG)[i]]:
            found = [row for row in found if row[0] != words[6]] + [(_REASONS[i], words[7])]
    if len(found) > 1:  # the cause of a hold is named as well
        found = [row for row in found if row[0] != words[4]]
    return found


def cue(app):
    """(doing, do, when, urgent): at most 9, 15 and 15 letters, but for a trip: its sentence and what to do."""
    sup, seq = app.supervisor, app.sequence
    doing = doing_now(seq)
    if sup.pull_the_plug:
        return doing, "PULL THE PLUG", "now", 1
    if sup.first_out != L.NONE:
        sentence, act = app.told.of(sup.first_out)
        return doing, "trip: " + sentence, act, 1
    if sup.present[L.ATTEND_SOON]:
        attend = sup.attendance
        return doing, "stay: confirm", "heat off: " + clock(max(0, attend.attend_ms - attend.alone_ms) // 1000), 1
    if app.evening.since_bread_ms < _TAKE_MS and seq.stage != S.BAKE:  # also of the last one
        return doing, "TAKE BREAD OUT", _after_it(app) if seq.session else "heat is off", 1
    if seq.session:
        return (doing,) + _in_session(app, seq)
    if seq.stage == S.COOL:
        return doing, "let it cool", "below " + degrees(app, seq.cool_mc), 0
    found = against(app)
    return (doing, found[0][1], "then start", 0) if found else (doing, "all is ready", "start any time", 0)


def _after_it(app):
    when = next_s(app)
    return "then shut door" if when[0] in "no" else "next " + when  # not known, or far


def doing_now(seq):
    """The stage or state in at most 9 letters."""
    if not seq.session:
        return _ENDED[seq.state]
    bread = str(seq.breads_done + 1)
    if seq.state == S.HELD:
        return "held bake" if seq.stage == S.BAKE else "held"
    if seq.stage == S.PROVE:
        return "test"
    return S.STAGES[seq.stage] + (" " + bread if seq.stage in (S.LOAD, S.BAKE) else "")


def _in_session(app, seq):
    """(do, when, urgent) of an evening under way."""
    stage = seq.stage
    if stage == S.BAKE:
        left_ms = max(0, seq.bake_ms - seq.stage_ms)
        by = app.evening.flow and app.evening.flow.fixed
        return "fixed: out in" if by else "out in", clock(left_ms // 1000), 1 if left_ms <= _SOON_MS else 0
    if stage == S.LOAD and seq.state != S.HELD:
        return "LAY BREAD " + str(seq.breads_done + 1), "say: it is in", 1
    found = against(app)
    if found:
        return found[0][1], "then resume" if seq.state == S.HELD else "heat goes on", 0
    if seq.state == S.HELD or stage == S.REST:
        return "say: resume", "to go on", 0
    if stage == S.PROVE:
        return "wait: test", "a minute", 0
    if stage == S.LEARN:
        return "wait: learning", "ends by itself", 0
    if stage == S.LIFT or stage == S.RECOVER:
        return "next bread in", next_s(app), 0
    return "ready in" if seq.bakes else "leg done in", next_s(app), 0


def next_s(app):
    """Until the next bread may be laid, in words: `1:10` counted, `~1:10` foretold."""
    seq, evening = app.sequence, app.evening
    seconds = seq.seconds_left
    guess = 0
    gap_k = 0.0
    if seq.stage in (S.PREHEAT, S.RECOVER):
        guess = 1
        flow = evening.flow
        if seq.stage == S.RECOVER and flow and flow.base_kj and not (flow.fixed or seq.by_heat):
            return "not known yet"
        gap_k = 0.001 * (seq.setpoint_mc - (S.EARLY_MK if seq.by_heat else S.READY_MK) - app.dome.pv_mc)
        if gap_k > 0.0:
            # As long as it took lately; by heat the first comes back sooner than is to be expected of any.
            if seq.stage == S.RECOVER and not (seq.by_heat and evening.back_s == BACK_S):
                seconds = evening.back_s - seq.stage_ms * 0.001
            if seconds < _SHORT_S and evening.rise_k_s > _SLOWEST_K_S:
                seconds = (gap_k + _BEYOND_K) / evening.rise_k_s * math.log((gap_k + _BEYOND_K) / _BEYOND_K)
            if seconds <= 0.0:
                return "not known yet"
        if seq.stage == S.PREHEAT:
            if seq.ramp.on or not app.dome.usable:
                return "not known yet"
            seconds += seq.soak_ms // 1000
    # In recovery the dome comes back last but seldom, and right after a bread the stone's forecast is at its worst.
    is_back = seq.stage != S.RECOVER or gap_k <= 0.0
    if seq.stone_rule and seq.stage != S.LIFT and is_back and not seq.stone_ready:
        ready_s = evening.forecast.ready_s
        if ready_s < 0.0:
            return "not known yet"
        limit_ms = seq.recover_ms if seq.stage == S.RECOVER else seq.soak_ms + seq.wait_ms if seq.wait_ms else 0
        if limit_ms and seq.stage != S.PREHEAT:  # released by then anyhow
            ready_s = min(ready_s, max(seconds, 0.001 * (limit_ms - seq.stage_ms)))
        if ready_s > seconds:
            guess, seconds = 1, ready_s
    if seq.stage != S.LIFT and seq.bakes:
        seconds += seq.lift_ms // 1000
    if seconds >= FAR_S:
        return "over 90 min"
    return ("~" if guess else "") + clock(int(seconds))


def clock(seconds):
    """`m:ss`, from ten minutes on whole minutes."""
    return "{}:{:02d}".format(seconds // 60, seconds % 60) if seconds < 600 else str((seconds + 30) // 60) + " min"


def stone_now(app):
    """(degrees or None, 95 % uncertainty or 0 where a probe reads it), as the cook wants them."""
    model = app.evening.stone
    is_deep = app.stone is not None and not model.sees_breads  # its face is the model's, not the probe's
    if app.stone is not None and not is_deep:
        return (shown(app, app.stone.pv_mc), 0) if app.stone.usable else (None, 0)
    off_k = 2.0 * model.sigma_k
    off = int((off_k * 1.8 if app.settings["fahrenheit"] else off_k) + 0.5) if is_deep or model.basis <= LEARNED else 0
    return shown(app, int(model.surface_c * 1000.0)), off


def shown(app, value_mc):
    """Whole degrees as the cook wants them, °C or °F."""
    if app.settings["fahrenheit"]:
        return (value_mc // 100 * 18 + 50) // 100 + 32
    return (value_mc + 500) // 1000


def milli(app, degrees_shown):
    """What is `shown` as so many whole degrees, in milli-degrees Celsius."""
    return ((degrees_shown - 32) * 5_000 + 8) // 9 if app.settings["fahrenheit"] else degrees_shown * 1_000


def degrees(app, value_mc):
    """`250 C` or `482 F`."""
    return str(shown(app, value_mc)) + (" F" if app.settings["fahrenheit"] else " C")
