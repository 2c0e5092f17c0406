"""The bake plan in force on one board, and the one that is being sent. Without a plan the settings are the plan."""

from micropython import const

from tizzone.evening import leg as B
from tizzone.evening.sequence import Sequence
from tizzone.loading import let_go

# Without a plan the stone is asked as the plan for flatbreads asks it:
_BELOW_C = const(10)  # the stone may be so much below the dome's setpoint for the first bread ...
_SAG_K = const(20)  # ... and so much less for the next
_WAIT_MS = const(40 * 60_000)  # the first is released so long after the soak anyhow, the next ...
_RECOVER_MS = const(420_000)  # ... after this


def sequence_of(values, ceiling_mc):
    """A Sequence whose only leg are the settings `values`; its setpoint is at most `ceiling_mc`."""
    return Sequence(
        setpoint_mc=min(values["setpoint_c"] * 1000, ceiling_mc),
        soak_ms=values["soak_min"] * 60_000,
        bake_ms=values["bake_s"] * 1000,
        breads=values["breads"],
        cool_mc=values["cool_c"] * 1000,
        wait_ms=_WAIT_MS,
        again_ms=_RECOVER_MS,
    )


def wanted_by(leg):
    """1 if this leg says what heat it wants."""
    return 1 if len(leg) > B.OLD_FIELDS and leg[B.BASE_KJ] else 0


def flow_for(legs):
    """The class of the Flow that these legs want; None: the plan's seconds, also where there is no room for it."""
    if not [leg for leg in legs if wanted_by(leg)]:
        return None
    try:
        from tizzone.evening.flow import Flow
    except MemoryError:
        return None
    return Flow


def too_hot(app, plan):
    """Why a checked plan is too hot for what this board may hold, or ""."""
    ceiling_c = app.supervisor.ceiling_mc // 1000
    hottest_c = max([leg[B.DOME] for leg in plan["legs"]])
    if hottest_c <= ceiling_c:
        return ""
    why = " (" + app.release_reason + ")" if app.release_reason else ""
    return "the plan asks for {}, this board allows {}{}".format(hottest_c, ceiling_c, why)


def _fault(plan):
    """None if this is a plan; checked at the start and when one has come, never in an evening."""
    from tizzone.evening.bake_plan import plan_fault

    fault = plan_fault(plan)
    let_go("tizzone.evening.bake_plan")
    return fault


class PlanInForce:
    """`value`: checked dict or None; `incoming`: what the link has sent of the next; `lost`: it was not readable."""

    def __init__(self, app, plan, status):
        """`plan, status`: as the store loaded it."""
        self.incoming = None
        self.flow = None  # loaded with the plan, in idle: in an evening loading would make a tick late
        taken = self.use(app, plan)
        self.lost = 1 if not taken and (plan or status == "damaged") else 0

    def use(self, app, plan):
        """Put a plan in force; None or a bad one: the settings are the plan. True if it was taken."""
        good = plan is not None and _fault(plan) is None
        self.value = plan if good else None
        self.lost = 0
        self.flow = flow_for(plan["legs"]) if good else None
        ceiling_mc = app.supervisor.ceiling_mc
        if good:
            app.sequence.use_plan(plan["legs"], plan["end_c"] * 1000)
            if app.sequence.setpoint_mc > ceiling_mc:
                app.sequence.set_setpoint(ceiling_mc)  # idle: no setpoint above it may stand anywhere
        elif app.sequence.legs:
            app.sequence = sequence_of(app.settings, ceiling_mc)
            app.top_share_pct = app.settings["top_share_pct"]
        return good

    def refusal(self, app):
        """Why this plan cannot begin, or ""."""
        if self.lost:
            return "the stored plan is damaged: send it again, or say: plan none"
        return too_hot(app, self.value) if self.value else ""

    @property
    def name(self):
        """Of the plan in force."""
        return self.value["name"] if self.value else "settings"

    def leg_values(self, app):
        """(stone wanted, sag, bake_s, share, lift) of the leg under way."""
        if self.value:
            leg = self.value["legs"][app.sequence.leg]
            return leg[B.STONE], leg[B.SAG], leg[B.BAKE], leg[B.SHARE], leg[B.LIFT]
        wanted_c = app.sequence.setpoint_mc // 1000 - _BELOW_C
        return wanted_c, _SAG_K, app.settings["bake_s"], app.settings["top_share_pct"], 0
