"""The harness as a picture (SVG): the user's board left, the player right, one wire a row with its resistor."""

from __future__ import annotations

from html import escape

from host.player.harness import CAUTIONS, Harness

WIDTH, STEP, TOP = 980, 26, 104
LEFT, RIGHT = 300, 620  # inner edges of the two boards
STYLE = (
    "text{font:13px sans-serif;fill:#000}.s{font-size:11px}.b{font-weight:bold}.h{font-size:17px;font-weight:bold}"
    "rect,line{stroke:#000;stroke-width:1.5;fill:none}.f{fill:#fff}.board{fill:#eee}"
)


def picture(harness: Harness) -> str:
    """SVG text."""
    rows = harness.rows()
    bottom = TOP + STEP * len(rows)
    height = bottom + 40 + 17 * len(CAUTIONS)
    name = str(getattr(harness.pins, "NAME", "board"))
    title = f"Harness between {name} ({harness.mcu}) and the player"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        f'role="img" aria-label="{escape(title, quote=True)}"><style>{STYLE}</style>',
        f'<rect class="f" x="0" y="0" width="{WIDTH}" height="{height}" style="stroke:none"/>',
        _text(20, 28, title, "h"), _text(20, 48, "3.3 V only. Mains is nowhere near.", "b"),
        f'<rect class="board" x="20" y="{TOP - 22}" width="{LEFT - 20}" height="{bottom - TOP + 22}"/>',
        f'<rect class="board" x="{RIGHT}" y="{TOP - 22}" width="{WIDTH - 20 - RIGHT}" height="{bottom - TOP + 22}"/>',
        _text(160, TOP - 28, f"your board: {name}", "b", "middle"),
        _text((RIGHT + WIDTH - 20) / 2, TOP - 28, "player: Raspberry Pi Pico", "b", "middle"),
    ]  # fmt: skip
    for number, row in enumerate(rows):
        parts.append(_wire(TOP + STEP * number, *row))
    parts += [_text(20, bottom + 30 + 17 * i, line, "s") for i, line in enumerate(CAUTIONS)]
    return "".join(parts) + "</svg>\n"


def _wire(y, name, own, ohm, player, words):
    end = RIGHT - 20 if ohm != "none" else RIGHT
    resistor = "" if ohm == "none" else (
        f'<rect class="f" x="{RIGHT - 80}" y="{y - 7}" width="60" height="14"/>'
        + _text(RIGHT - 50, y + 4, ohm, "s", "middle")
        + f'<line x1="{RIGHT - 20}" y1="{y}" x2="{RIGHT}" y2="{y}"/>'
    )  # fmt: skip
    start = end if ohm == "none" else RIGHT - 80
    return (
        f'<line x1="{LEFT}" y1="{y}" x2="{start}" y2="{y}"/>' + resistor + _text(30, y + 4, name, "b")
        + _text(LEFT - 6, y + 4, own, "", "end") + _text(RIGHT + 6, y + 4, player, "")
        + _text(RIGHT + 110, y + 4, words.partition(";")[0].replace("the player ", ""), "s")
    )  # fmt: skip


def _text(x, y, words, kind="", anchor="start"):
    return f'<text x="{x:g}" y="{y:g}" class="{kind}" text-anchor="{anchor}">{escape(words)}</text>'
