"""The live view as lines of text with a few weights and colours; every colour has a word beside it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from host.link.replies import in_unit, said
from host.watch.keys import HELP
from host.watch.plot import lines as plot_lines

if TYPE_CHECKING:
    from rich.console import RenderableType

    from host.watch.keys import Keys
    from host.watch.watcher import Watcher


WIDE = 96
# What the board's alarm states mean to a person.
ALARM_WORDS = {
    "unacknowledged": "NEW", "acknowledged": "still there, seen", "returned": "has returned to normal, not seen yet",
    "latched-unacknowledged": "LATCHED", "latched-acknowledged": "latched, seen",
}  # fmt: skip


def plain(view: dict[str, Any], age_s: float | None = None) -> str:
    """One line a sample, for a pipe or a terminal without rich."""
    now = view["status"]
    if now is None:
        return f"-- {view['word']}"
    trip = f"  TRIP {view['trip']}: {view['trip_words']}" if view["trip"] != "none" else ""
    told = f"{view['sentence']};  " if view["sentence"] and view["trip"] == "none" else ""
    old = "" if view["connected"] else f"  OLD VALUES: {view['word']}"
    unit = unit_of(view)
    return (
        f"{view['t_s']:7.0f} s  {told}{in_unit(now['pv_c'], unit)} of {in_unit(now['setpoint_c'], unit)}  "
        f"out {now['out_pct']:3.0f} %  "
        f"top {on(now['heat_top'])} deck {on(now['heat_deck'])}  {now['state']} {now['stage']}  "
        f"if stuck: {view['stuck_words']}{trip}{old}"
    )


def unit_of(view: dict[str, Any]) -> str:
    """ "F" where the board's display says degrees Fahrenheit, else "C"."""
    return view["cue"]["unit"] if view["cue"] else "C"


def stone_words(now: dict[str, Any], cue: dict[str, Any] | None) -> str:
    """'431 °C' by a probe, '431 ± 20 °C' where the board estimates it."""
    if now["stone_pv_c"] is not None or cue is None or cue["stone"] is None:
        return in_unit(now["stone_pv_c"], cue["unit"] if cue else "C")
    return f"{cue['stone']} ± {cue['stone_off']} °{cue['unit']}"


def on(value: object) -> str:
    """ON or off: the word differs in length and case, so no colour is needed."""
    return "ON " if value else "off"


def bar(percent: float, width: int = 20) -> str:
    """An output bar: [#####     ]."""
    full = max(0, min(width, round(percent / 100 * width)))
    return "[" + "#" * full + "." * (width - full) + "]"


def head(view: dict[str, Any], age_s: float | None) -> list[tuple[str, str]]:
    """[(text, style)] of the upper part."""
    now = view["status"]
    if now is None:
        return [(view["word"] or "waiting for the board", "bold")]
    made = []
    if not view["connected"] or (age_s is not None and age_s > 5):
        made.append((f"OLD VALUES ({age_s or 0:.0f} s): {view['word'] or 'the board does not answer'}", "bold reverse"))
    if view["trip"] != "none":
        made.append((f"TRIP {view['trip']}: {view['trip_words']}", "bold reverse red"))
    if view["cue"] is not None and not view["cue"]["do"].startswith("trip: "):  # which stands above
        made.append((view["sentence"], "bold reverse" if view["cue"]["urgent"] else "bold"))
    unit = unit_of(view)
    left = f", {now['left_s']} s left" if now["left_s"] else ""
    made += [
        (f"{view['board']}   {now['state'].upper()} / {now['stage']}{left}   breads {now['breads']}", "bold"),
        (
            f"dome {in_unit(now['pv_c'], unit)}   setpoint {in_unit(now['setpoint_c'], unit)}   "
            f"stone {stone_words(now, view['cue'])}   box {in_unit(now['box_c'], unit)}",
            "bold",
        ),
        (
            f"output {bar(now['out_pct'])} {now['out_pct']:3.0f} %   top {on(now['heat_top'])} "
            f"deck {on(now['heat_deck'])}  contactor {'CLOSED' if now['contactor'] else 'open'}",
            "",
        ),
        (f"limit {in_unit(now['limit_c'], unit)}   released to {in_unit(now['release_c'], unit)}", ""),
        (f"If the relay stuck now: {view['stuck_words']}", "bold"),
    ]
    return made


def side(view: dict[str, Any]) -> list[tuple[str, str]]:
    """[(text, style)]: alarms first, then the permissives that are missing."""
    shown = [(name, state) for name, state in view["alarms"].items() if state != "normal"]
    made = [("Alarms" if shown else "Alarms: none", "underline")]
    for name, state in shown:
        told = ALARM_WORDS.get(state, state)
        made.append((f" {name.replace('-', ' ')} ({told}) {view['alarm_words'].get(name, '')}".rstrip(), "bold"))
    missing = [(said(name, False), remedy) for name, good, remedy in view["permissives"] if not good]
    if missing:
        made.append(("Stands against heat", "underline"))
    elif view["permissives"]:
        made.append(("Stands against heat: nothing", "underline"))
    made += [(f" !  {words}: {remedy}", "bold red") for words, remedy in missing]
    return made


def rich_screen(watcher: Watcher, keys: Keys, width: int, height: int) -> RenderableType:
    """Everything as one rich renderable for a terminal of width x height."""
    from rich.console import Group
    from rich.table import Table
    from rich.text import Text

    view = watcher.view
    history: Sequence[tuple] = watcher.history
    if unit_of(view) == "F":
        history = [(t_s, *[None if c is None else c * 1.8 + 32 for c in row[:2]]) for t_s, *row in history]
    upper = [Text(text, style) for text, style in head(view, watcher.age_s)]
    beside = [Text(text, style) for text, style in side(view)]
    foot = [Text(keys.prompt or HELP, "bold" if keys.prompt else "dim"), Text(view["said"], "italic")]
    if watcher.page_url:
        foot.append(Text(f"page: {watcher.page_url}"))
    if width >= WIDE:
        side_width = width // 3
        rows = max(6, height - len(upper) - len(foot) - 3)
        table = Table.grid(padding=(0, 2), expand=True)
        table.add_column(ratio=2)
        table.add_column(ratio=1)
        drawn = Text("\n".join(plot_lines(history, width - side_width - 4, rows)), no_wrap=True)
        table.add_row(drawn, Group(*beside))
        return Group(*upper, table, *foot)
    # Narrow: the question and the keys first, then alarms and what is missing; the plot takes the lines that are left.
    spent = sum(-(-max(1, line.cell_len) // width) for line in [*upper, *beside, *foot])
    rows = height - spent - 3
    below = [Text("\n".join(plot_lines(history, width - 1, rows)), no_wrap=True)] if rows >= 4 else []
    return Group(*foot, *upper, *beside, *below)
