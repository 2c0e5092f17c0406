"""What happened in a tick, as whole numbers: for a rehearsal and for whoever looks over the board's shoulder."""

from tizzone.probes.reading import NO_VALUE_MC
from tizzone.safety import limits as L

# Fields of App.report, integers: temperatures in 0.001 °C, outputs per mille, names by index.
REPORT = (
    "pv_mc", "stone_mc", "setpoint_mc", "out_pm", "heat_top", "heat_deck", "permit", "state", "stage",
    "trip", "hold", "warn",
    "contactor", "breads", "limit_mc", "release_mc", "locked_out", "ticks",
)  # fmt: skip


def fill_report(app):
    """Write this tick's values into `app.report`."""
    sup = app.supervisor
    seq = app.sequence
    heater = app.heater
    stone_mc = app.stone.pv_mc if app.stone else NO_VALUE_MC
    values = (
        app.dome.pv_mc, stone_mc, seq.setpoint_mc, app.out_pm, heater.top.on, heater.deck.on,
        sup.permit.granted,
        seq.state, seq.stage, sup.first_out, _first_present(sup, L.HOLD), _first_present(sup, L.WARN),
        heater.contactor_on, seq.breads_done, sup.limit_mc, sup.release_mc, sup.locked_out, app.ticks,
    )  # fmt: skip
    report = app.report
    for i in range(len(values)):
        report[i] = values[i]


def _first_present(sup, kind):
    """Number of the first condition of this kind that is present, 0 for none; a STOP is told as a HOLD."""
    i = sup.present.find(b"\x01")
    while i >= 0:
        if sup.kinds[i] == kind or (kind == L.HOLD and sup.kinds[i] == L.STOP):
            return i
        i = sup.present.find(b"\x01", i + 1)
    return 0
