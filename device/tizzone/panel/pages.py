"""The panel's pages, one turn of the knob apart: main, stone, breads, needs of heat, hand-back, board."""

from tizzone.control import stone as T
from tizzone.evening.cue import against, clock, degrees, next_s
from tizzone.link.commands import handover_state
from tizzone.panel.canvas import BAR, TALL
from tizzone.panel.screens import (
    ALTERNATE_S,
    PAGE_S,
    main,
    pull_the_plug,
    stone_word,
    tripped,
    turning,
    wrapped,
)  # fmt: skip
from tizzone.safety import limits as L

MAIN, NEEDS, PAGES = 0, 3, 6


def show(app, page, second):
    """The bands of a page now; `second` counts up and turns what alternates."""
    sup = app.supervisor
    if page == MAIN and sup.pull_the_plug:
        return pull_the_plug(app, second)
    if page == MAIN and sup.first_out != L.NONE:
        return tripped(app, second)
    return (main, stone, breads, needs, oven, board)[page](app, second)


def stone(app, second):
    """The stone by its model."""
    model, evening = app.evening.stone, app.evening
    wanted_c = evening.plan.leg_values(app)[0]
    ready = "READY" if app.sequence.stone_ready else "ready " + next_s(app)
    core = "core " + degrees(app, int(model.core_c * 1000.0))
    return (
        turning(app, "STONE " + ("guess" if model.basis <= T.LEARNED else "by " + T.BASES[model.basis]), second),
        (TALL, stone_word(app, second // ALTERNATE_S & 1), 0),
        (TALL, "want " + degrees(app, wanted_c * 1000) if wanted_c and second & 2 else core, 0),
        (TALL, (ready if len(ready) <= 16 else "ready: unknown") if wanted_c else "send a spot", 0),
    )


def breads(app, second):
    """Breads, share and pace."""
    seq, evening = app.sequence, app.evening
    cycle_s = evening.forecast.cycle_s
    of = " of " + str(seq.breads) if seq.breads else ""
    return (
        turning(app, "BREADS " + (str(seq.leg_done) + of if len(of) else str(seq.breads_done)), second),
        (TALL, "bake " + clock(seq.bake_ms // 1000), 0),
        (TALL, "top share " + str(app.top_share_pct) + "%", 0),
        (TALL, "pace {:.0f} an hour".format(3600.0 / cycle_s) if cycle_s > 0 else "pace unknown", 0),
    )


def needs(app, second):
    """Everything that stands against heat, in words."""
    lines = [row[0] for row in against(app)]
    if not lines:
        lines = ["nothing stands", "against heat"]
    pages = (len(lines) + 2) // 3
    first = second // PAGE_S % pages * 3
    lines = (lines + ["", ""])[first : first + 3]
    head = "NO HEAT" if against(app) else "NEEDS all good"
    return (turning(app, head, second),) + tuple([(TALL, line, 0) for line in lines])


def oven(app, second):
    """The rule of handing the oven back to its own thermostat."""
    word, below_c = handover_state(app)
    say = {
        "ours": "stop first, then cool below {}", "wait": "let it cool below {}",
        "may": "turn selector through OFF", "theirs": "thermostat has it: below {}",
        "back": "TOO HOT for it: selector to OFF",
    }[word].format(degrees(app, below_c * 1000))  # fmt: skip
    lines = (wrapped(say) + ["", ""])[:3]
    return (turning(app, "HANDBACK " + word, second),) + tuple([(TALL, line, 0) for line in lines])


def board(app, second):
    """Limits, the box and the output."""
    sup = app.supervisor
    box = "box " + degrees(app, app.seen.box_mc)
    return (
        turning(app, "BOARD " + app.version, second),
        (TALL, "limit " + degrees(app, sup.limit_mc), 0),
        (TALL, box if second & 2 else "highest " + degrees(app, sup.ceiling_mc), 0),
        (BAR, "{}|{:>4}%".format(app.out_pm, app.out_pm // 10), 0),
    )
