"""Witness steps of commissioning: what the board must have seen itself before it lets the setpoint rise.

A measured step passes on what chips, contacts and currents showed tick by tick after `witness begin`; no message
can supply that. An attested step (papers, meter readings, learning) is a person's word with initials and date; the
order is kept for both. The record is written only while no heat is permitted, and the next release counts from then
on. Whoever has the board's prompt can write a record by hand: this guards against mistakes and messages, not
against that.
"""

from micropython import const

from tizzone.commissioning import release as C
from tizzone.commissioning.evidence import COLD_MC, CUT_FROM_MC, WATCHES
from tizzone.safety import limits as L

STEPS = C.STEPS
_DEAD = const(2)  # of STEPS
_LAMP = const(3)
_TRANSFER = const(4)
_CUTOFF = const(5)
# What each step has to show; a step without evidence is attested.
EVIDENCE = (
    (), (),
    ("dome-warmed", "stone-warmed"),
    ("top-current", "deck-current", "reading-rose"),
    ("selector-opens-contactor", "enable-opens-contactor", "fan-turns", "fan-rests"),
    ("heat-was-on", "heat-off-in-one-tick", "contactor-fell"),
    ("reached", "burned-off"),
    ("limiter-opens-contactor", "limiter-reset"),
    (),
    ("reached",),
)  # fmt: skip
NEEDS = (
    (), (), (), (),
    ("SELECTOR", "ENABLE", "CONTACTOR_OPEN"),
    ("CONTACTOR_OPEN",),
    (),
    ("LIMIT_OK", "CONTACTOR_OPEN"),
    (), (),
)  # fmt: skip


class Witness:
    """One board's witness. `tick` is called once a tick, after the pins are set."""

    def __init__(self, app):
        self.values = app.signed  # in force since this start, whatever was stored meanwhile
        self.mark_of = C.fingerprint(app.board, self.values)  # told, so that a paper record names its board
        self.steps = C.steps(app.memory.commissioning(), app.board, self.values)
        self.active = -1
        self.fault = ""  # why the last step failed
        heater = app.heater
        moved = heater.contactor_switchings or heater.top.switchings or heater.deck.switchings
        self.heated = 1 if moved else 0  # this start has closed the contactor or driven a relay
        self.unsaved = 0
        self.by = None  # initials and date of the step under way
        self.bits = 0
        self.blind = 0  # what this board cannot see: not wired
        self.all_bits = 0
        self.value_mc = 0  # the figure that belongs in the record
        self.count_ms = 0
        self.base_mc = 0
        self.base_stone_mc = 0
        self.was_closed = 0  # the contactor was closed at the last tick
        self.cut_asked = 0
        self.lost_ms = -1  # since a contact of the chain opened

    def begin(self, app, step, by):
        """Watch for this step's evidence from now on; returns "" or why not."""
        for name in NEEDS[step]:
            if getattr(app.board, name, None) is None:
                return name + " is not wired: this cannot be measured"
        if not app.dome.usable:
            return "the dome reading is not usable"
        if step <= _LAMP and app.sequence.session:
            return "an evening is on: stop it first"
        if step == _DEAD and (self.heated or app.dome.pv_mc > COLD_MC):
            return "the dead test wants a cold oven and a board that has not heated since its start"
        self.active = step
        self.by = by
        self.fault = ""
        self.all_bits = (1 << len(EVIDENCE[step])) - 1
        self.bits = self.blind = self._not_wired(app, step)
        self.value_mc = 0
        self.count_ms = 0
        self.base_mc = app.dome.pv_mc
        self.base_stone_mc = app.stone.pv_mc if app.stone else 0
        self.was_closed = 0
        self.cut_asked = 0
        self.lost_ms = -1
        return ""

    def _not_wired(self, app, step):
        board = app.board
        bits = 0
        if step == _DEAD and app.stone is None:
            bits = 2
        elif step == _LAMP:
            bits = (_lacks(app, "TOP") and 1) | (_lacks(app, "DECK") and 2)
        elif step == _TRANSFER and (getattr(board, "FAN_OK", None) is None or app.heater.fan is None):
            bits = 12
        return bits

    def unseen(self):
        """Names of the evidence that this board cannot see, since nothing is wired for it: a person's word stands."""
        names = EVIDENCE[self.active] if self.active >= 0 else ()
        return [names[i] for i in range(len(names)) if self.blind >> i & 1]

    def todo(self):
        """Names of the evidence that the step under way still lacks."""
        names = EVIDENCE[self.active] if self.active >= 0 else ()
        return [names[i] for i in range(len(names)) if not self.bits >> i & 1]

    def tick(self, app, dt_ms):
        """One tick, after the pins are set. Integers, nothing allocated until there is a record to store."""
        heater = app.heater
        if heater.contactor_on or heater.top.on or heater.deck.on:
            self.heated = 1
        if self.active >= 0 and self.bits != self.all_bits:
            WATCHES[self.active](self, app, app.seen, dt_ms)
            self.was_closed = 1 if app.seen.mirror_open == 0 else 0
        if self.unsaved and not app.sequence.session and not app.supervisor.permit.granted:
            self._keep(app)

    def mark(self, bit):
        """Evidence number `bit` was seen."""
        self.bits |= 1 << bit

    def fail(self, why):
        """The step under way has failed."""
        self.fault = why
        self.active = -1

    def accept(self):
        """The board has seen everything and a person agrees."""
        self.steps.append([self.by[0], self.by[1], self.value_mc])
        self.active = -1
        self.unsaved = 1

    def attest(self, by):
        """A person's word for the next step."""
        self.steps.append([by[0], by[1], 0])
        self.unsaved = 1

    def _keep(self, app):
        """Store the record and put into force what it earns; only while no heat is permitted."""
        self.unsaved = 0
        record = C.record(app.board, self.values, C.earned_c(len(self.steps)), self.steps)
        if not app.memory.keep_commission(record):
            self.steps.pop()
            self.fault = "the board cannot store the record"
            return
        put_in_force(app, record, self.values)

    def restart(self, app):
        """Forget every step; the release falls back at once. Returns True once it is stored."""
        record = C.record(app.board, self.values, L.RELEASES_C[0], [])
        if not app.memory.keep_commission(record):
            return False
        self.steps = []
        self.active = -1
        put_in_force(app, record, self.values)
        return True


def _lacks(app, zone):
    """1 where a zone is not driven, or its current not sensed."""
    driven = getattr(app.board, "HEAT_" + zone, None) is not None
    return 0 if driven and getattr(app.board, "MAINS_SENSE_" + zone, None) is not None else 1


def put_in_force(app, record, values):
    """Release, trip and highest setpoint from the record just stored; a setpoint above them comes down."""
    app.release_c, app.release_reason = C.release(record, app.board, values)
    sup = app.supervisor
    sup.take_release(app.release_c, 1 if app.release_reason else 0)
    if app.sequence.setpoint_mc > sup.ceiling_mc:
        app.acts.change_setpoint(sup.ceiling_mc)


def _state(app, w):
    if w.active >= 0:
        step, todo, unseen = STEPS[w.active], ",".join(w.todo()), ",".join(w.unseen())
    else:
        step = todo = unseen = "none"
    return (
        "ok release_c={} done={} next={} active={} todo={} unseen={} value_mc={} count_ms={} stored={} mark={} "
        "reason={}"
    ).format(
        app.release_c, len(w.steps), STEPS[len(w.steps)] if len(w.steps) < len(STEPS) else "none", step, todo or "none",
        unseen or "none", w.value_mc, w.count_ms, 1 - w.unsaved, w.mark_of, w.fault or app.release_reason or "none",
    )  # fmt: skip


def command(app, words):
    """witness [begin|attest STEP INITIALS DATE | accept | cut | cancel | step N | restart]"""
    w = app.witness
    if not words:
        return _state(app, w)
    act = words[0]
    if act == "step" and len(words) == 2 and words[1].isdigit():
        n = int(words[1])
        if n >= len(w.steps):
            return "no that step is not done"
        return "ok " + STEPS[n] + " " + " ".join([str(value) for value in w.steps[n]])
    if act == "cancel":
        w.active = -1
        return "ok"
    if act == "cut":
        if w.active != _CUTOFF:
            return "no the cutoff step is not under way"
        if app.dome.limit_mc < CUT_FROM_MC:
            return "no the reading must be above {}: warm it first".format(CUT_FROM_MC // 1000)
        w.cut_asked = 1
        return "ok the limit goes below the reading as soon as heat is on"
    if act == "accept":
        return _accept(app, w)
    if act == "restart":
        if app.sequence.session or w.unsaved:
            return "no an evening is on: stop it first"
        return "ok" if w.restart(app) else "no the board cannot store the record"
    if act in ("begin", "attest") and len(words) == 4:
        return _enter(app, w, act, words)
    return "no say: witness begin STEP INITIALS DATE"


def _accept(app, w):
    if w.active < 0:
        return "no step is under way: " + (w.fault or "begin it first")
    if w.bits != w.all_bits:
        return "no still to be seen: " + ",".join(w.todo())
    if app.sequence.session:
        return "no an evening is on: stop it first"
    w.accept()
    return "ok"


def _enter(app, w, act, words):
    if words[1] not in STEPS:
        return "no such step; steps: " + " ".join(STEPS)
    step = STEPS.index(words[1])
    if w.active >= 0:
        return "no " + STEPS[w.active] + " is under way"
    if w.unsaved:
        return "no the last step is not stored yet: stop the evening first"
    if step != len(w.steps):
        return "no the next step is " + (STEPS[len(w.steps)] if len(w.steps) < len(STEPS) else "none")
    if len(words[2]) > 8 or len(words[3]) > 16:
        return "no initials have at most 8 letters, a date 16"
    measured = len(EVIDENCE[step]) > 0
    if measured != (act == "begin"):
        return "no the board measures this step: witness begin" if measured else "no attest this step"
    if measured:
        fault = w.begin(app, step, words[2:])
        return "no " + fault if fault else "ok"
    if app.sequence.session:
        return "no an evening is on: stop it first"
    w.attest(words[2:])
    return "ok"
