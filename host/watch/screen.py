"""The live view as lines of text with a few weights and colours; every colour has a word beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

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
    return (
        f"{view['t_s']:7.0f} s  {told}{degrees(now['pv_c'])} of {degrees(now['setpoint_c'])}  "
        f"out {now['out_pct']:3.0f} %  "
        f"top {on(now['heat_top'])} deck {on(now['heat_deck'])}  {now['state']} {now['stage']}  "
        f"if stuck: {view['stuck_words']}{trip}{old}"
    )


def degrees(value: float | None) -> str:
    """'450 °C' or '-- °C'."""
    return "-- °C" if value is None else f"{value:.0f} °C"


def stone_words(now: dict[str, Any], cue: dict[str, Any] | None) -> str:
    """'431 °C' by a probe, '431 ± 20 °C' where the board estimates it."""
    if now["stone_pv_c"] is not None or cue is None or cue["stone"] is None:
        return degrees(now["stone_pv_c"])
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
    if view["cue"] is not None:
        made.append((view["sentence"], "bold reverse" if view["cue"]["urgent"] else "bold"))
    left = f", {now['left_s']} s left" if now["left_s"] else ""
    made += [
        (f"{view['board']}   {now['state'].upper()} / {now['stage']}{left}   breads {now['breads']}", "bold"),
        (
            f"dome {degrees(now['pv_c'])}   setpoint {degrees(now['setpoint_c'])}   "
            f"stone {stone_words(now, view['cue'])}   box {degrees(now['box_c'])}",
            "bold",
        ),
        (
            f"output {bar(now['out_pct'])} {now['out_pct']:3.0f} %   top {on(now['heat_top'])} "
            f"deck {on(now['heat_deck'])}  contactor {'CLOSED' if now['contactor'] else 'open'}",
            "",
        ),
        (f"limit {degrees(now['limit_c'])}   released to {degrees(now['release_c'])}", ""),
        (f"If the relay stuck now: {view['stuck_words']}", "bold"),
    ]
    return made


def side(view: dict[str, Any]) -> list[tuple[str, str]]:
    """[(text, style)]: alarms first, then the permissives that are missing."""
    shown = [(name, state) for name, state in view["alarms"].items() if state != "normal"]
    made = [("Alarms" if shown else "Alarms: none", "underline")]
    for name, state in shown:
        told = ALARM_WORDS.get(state, state)
        made.append((f" {name} ({told}) {view['alarm_words'].get(name, '')}".rstrip(), "bold"))
    missing = [(name, remedy) for name, good, remedy in view["permissives"] if not good]
    if missing:
        made.append(("Missing before heat may flow", "underline"))
    elif view["permissives"]:
        made.append(("Permissives: all good", "underline"))
    made += [(f" NO   {name}: {remedy}", "bold red") for name, remedy in missing]
    return made


def rich_screen(watcher: Watcher, keys: Keys, width: int, height: int) -> RenderableType:
    """Everything as one rich renderable for a terminal of width x height."""
    from rich.console import Group
    from rich.table import Table
    from rich.text import Text

    view = watcher.view
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
        drawn = Text("\n".join(plot_lines(watcher.history, width - side_width - 4, rows)), no_wrap=True)
        table.add_row(drawn, Group(*beside))
        return Group(*upper, table, *foot)
    # Narrow: the question and the keys first, then alarms and what is missing; the plot takes the lines that are left.
    spent = sum(-(-max(1, line.cell_len) // width) for line in [*upper, *beside, *foot])
    rows = height - spent - 3
    below = [Text("\n".join(plot_lines(watcher.history, width - 1, rows)), no_wrap=True)] if rows >= 4 else []
    return Group(*foot, *upper, *beside, *below)
