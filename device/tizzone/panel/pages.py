"""The panel's pages, one turn of the knob apart: main, stone, breads, needs of heat, hand-back, board."""

from tizzone.control import stone as T
from tizzone.link import evening_commands
from tizzone.panel.canvas import TALL
from tizzone.panel.screens import (
    PAGE_S,
    against,
    asks_presence,
    clock,
    head_line,
    main,
    presence,
    pull_the_plug,
    tripped,
    until_ready,
    wrapped,
)
from tizzone.safety import limits as L
from tizzone.safety.permissives import permissives

MAIN, STONE, BREADS, NEEDS, OVEN, BOARD = range(6)
PAGES = 6


def show(app, page, second):
    """The bands of a page now; `second` counts up and turns what alternates."""
    sup = app.supervisor
    if page == MAIN and sup.pull_the_plug:
        return pull_the_plug(app, second)
    if page == MAIN and sup.first_out != L.NONE:
        return tripped(app, second)
    if page == MAIN and asks_presence(app):
        return presence(app)
    return (main, stone, breads, needs, oven, board)[page](app, second)


def stone(app, second):
    """The stone by its model."""
    model, evening = app.evening.stone, app.evening
    wanted_c = evening.plan.leg_values(app)[0]
    when = until_ready(app)
    ready = "READY" if app.sequence.stone_ready else "ready in " + when[1:] if when else "ready: unknown"
    return (
        head_line("STONE " + ("guess" if model.basis <= T.LEARNED else "by " + T.BASES[model.basis]), ""),
        (TALL, "face {:.0f} +-{:.0f}".format(model.surface_c, 2 * model.sigma_k), 0),
        (TALL, "want {}".format(wanted_c) if wanted_c and second & 2 else "core {:.0f}".format(model.core_c), 0),
        (TALL, ready if wanted_c else "send a spot", 0),
    )


def breads(app, second):
    """Breads, share and pace."""
    seq, evening = app.sequence, app.evening
    cycle_s = evening.forecast.cycle_s
    of = " of " + str(seq.breads) if seq.breads else ""
    return (
        head_line("BREADS " + (str(seq.leg_done) + of if len(of) else str(seq.breads_done)), ""),
        (TALL, "bake " + clock(seq.bake_ms // 1000), 0),
        (TALL, "top share " + str(app.top_share_pct) + "%", 0),
        (TALL, "pace {:.0f} an hour".format(3600.0 / cycle_s) if cycle_s > 0 else "pace unknown", 0),
    )


def needs(app, second):
    """Every permissive that is missing, by name."""
    rows = permissives(app)
    names = against(app)
    good = len([1 for _, is_good in rows if is_good])
    if not names:
        return (head_line("NEEDS all good", ""), (TALL, "nothing stands", 0), (TALL, "against heat", 0), (TALL, "", 0))
    pages = (len(names) + 2) // 3
    first = second // PAGE_S % pages * 3
    lines = (names + ["", ""])[first : first + 3]
    return (head_line("NEEDS", "{}/{}".format(good, len(rows))),) + tuple([(TALL, line, 0) for line in lines])


def oven(app, second):
    """The rule of handing the oven back to its own thermostat."""
    word, below_c = evening_commands.handover_state(app)
    say = {
        "ours": "stop first, then cool below {} C", "wait": "let it cool below {} C",
        "may": "turn selector through OFF", "theirs": "thermostat has it: below {} C",
        "back": "TOO HOT for it: selector to OFF",
    }[word].format(below_c)  # fmt: skip
    lines = (wrapped(say) + ["", ""])[:3]
    return (head_line("HANDBACK " + word, ""),) + tuple([(TALL, line, 0) for line in lines])


def board(app, second):
    """Limits and the box."""
    sup = app.supervisor
    return (
        head_line("BOARD " + app.version, ""),
        (TALL, "limit {}".format(sup.limit_mc // 1000), 0),
        (TALL, "highest set {}".format(sup.ceiling_mc // 1000), 0),
        (TALL, "box {} C".format(app.seen.box_mc // 1000), 0),
    )
