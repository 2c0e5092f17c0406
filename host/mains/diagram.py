"""The one-line diagram of the build as inline SVG: our own drawing, black on white.

Supply, then two ways to the one transfer switch, whose commons go through the oven's own cut-outs to the
elements: the original controller above, contactor and relays below. Under it the contactor's coil chain and what the
board senses, both from the description of the circuit.
"""

import textwrap
from html import escape

from host.circuit import BOARD, CHAIN, CIRCUIT, Circuit
from host.mains import poles as who
from host.mains.parts import of_sheet

WIDTH, HEIGHT = 1130, 640
STYLE = (
    "text{font:13px sans-serif;fill:#000}.s{font-size:11px}.b{font-weight:bold}"
    "rect,line,circle,path,polyline{stroke:#000;stroke-width:1.6;fill:none}"
    ".box{fill:#fff}.dash{stroke-dasharray:6 4}.thin{stroke-width:1}"
)


def text(x: float, y: float, words: str, kind: str = "", anchor: str = "middle") -> str:
    """SVG text; `words` may hold several lines."""
    rows = words.split("\n")
    return "".join(
        f'<text x="{x}" y="{y + 14 * i}" class="{kind}" text-anchor="{anchor}">{escape(row)}</text>'
        for i, row in enumerate(rows)
    )


def box(x: float, y: float, width: float, height: float, words: str, kind: str = "s") -> str:
    """A framed block with centred lines of text."""
    rows = words.count("\n") + 1
    first = y + height / 2 - 7 * (rows - 1) + 4
    frame = f'<rect class="box" x="{x}" y="{y}" width="{width}" height="{height}"/>'
    return frame + text(x + width / 2, first, words, kind)


def line(*points: tuple, kind: str = "") -> str:
    """A polyline through (x, y) points."""
    path = " ".join(f"{x},{y}" for x, y in points)
    return f'<polyline class="{kind}" points="{path}"/>'


def poles(x: float, y: float) -> str:
    """The two strokes that say two conductors and protective earth on a one-line conductor."""
    strokes = "".join(
        f'<line class="thin" x1="{x + d}" y1="{y + 7}" x2="{x + d + 6}" y2="{y - 7}"/>' for d in (0, 6, 12)
    )
    return strokes + text(x + 12, y - 12, "2+PE", "s")


def contact(x: float, y: float, words: str, closed: bool = False) -> str:
    """A contact in a horizontal conductor at (x, y), 40 wide, with its name below."""
    tip = y if closed else y - 12
    return (
        f'<line x1="{x}" y1="{y}" x2="{x + 8}" y2="{y}"/>'
        f'<line x1="{x + 8}" y1="{y}" x2="{x + 33}" y2="{tip}"/>'
        f'<line x1="{x + 32}" y1="{y}" x2="{x + 40}" y2="{y}"/>' + text(x + 20, y + 20, words, "s")
    )


def earth(x: float, y: float) -> str:
    """Protective earth symbol hanging from (x, y)."""
    bars = "".join(
        f'<line x1="{x - w}" y1="{y + 12 + 5 * i}" x2="{x + w}" y2="{y + 12 + 5 * i}"/>'
        for i, w in enumerate((12, 8, 4))
    )
    return f'<line x1="{x}" y1="{y}" x2="{x}" y2="{y + 12}"/>' + bars


def _words(sheet, figures):
    supply, cable = sheet["supply"], sheet["cable"]
    size = f"{cable['awg']} AWG" if supply["rules"] == "nec" else f"{cable['section_mm2']:g} mm²"
    curve = "" if supply["curve"] == "nec" else supply["curve"] + " "
    residual = f"{supply['residual_ma']:g} mA" if supply["residual_ma"] else "NONE"
    drop = figures["drop"].plain()
    cord = sheet["cord"]
    lead = f"{cord['awg']} AWG" if supply["rules"] == "nec" else f"{cord['section_mm2']:g} mm²"
    return {
        "supply": f"Supply\n{supply['voltage_v']} V 1~\n{supply['system'].upper()}",
        "breaker": f"Breaker {supply['breaker_poles'] or '?'}P\n{curve}{supply['breaker_a']} A\nRCD/GFCI\n{residual}",
        "run": f"{cable['length_m']:g} m, Cu\n{size}, {cable['method']}\ndrop {drop}",
        "plug": f"Connection\n{supply['connection']}\ncord {lead}",
    }


def _upstream(sheet, figures, y):
    words = _words(sheet, figures)
    return "".join((
        box(15, y - 35, 80, 70, words["supply"], "s b"), line((95, y), (115, y)),
        box(115, y - 40, 90, 80, words["breaker"]), line((205, y), (365, y)),
        poles(225, y), text(290, y + 20, words["run"], "s"),
        box(365, y - 30, 100, 60, words["plug"]), line((465, y), (490, y)),
        line((55, y + 35), (55, y + 60)), earth(55, y + 60),
        text(75, y + 78, "PE to oven, box, heatsink", "s", "start"),
    ))  # fmt: skip


def _power_side(sheet, figures):
    y = 150
    contactor, transfer, fan = sheet["contactor"], sheet["transfer"], sheet["cooling_fan"]
    rating = (
        f"K1 {contactor['rated_a']:g} A\nAC-1, {contactor['poles']:g}P\nmirror contact"
        if contactor["fitted"] else "K1 NOT FITTED"
    )  # fmt: skip
    rated = f"{transfer['rated_a']:g} A, {transfer['poles']:g}P" if transfer["fitted"] else "NONE"
    drawn = [
        _upstream(sheet, figures, y),
        line((490, y), (490, y - 70), (540, y - 70)),
        box(540, y - 92, 150, 44, f"Original controller{_original(sheet)}"),
        line((690, y - 70), (800, y - 70)), text(745, y - 78, "top, deck", "s"),
        line((490, y), (490, y + 80), (502, y + 80)), contact(502, y + 80, ""),
        text(505, y + 102, rating, "s", "start"), *_second_contactor(sheet, y + 80),
        box(800, y - 95, 85, 250, f"Transfer\nswitch\n{rated}\n\nORIGINAL\n|\nOFF\n|\nOURS"),
        _zones(sheet, figures, y), box(897, y - 40, 103, 160, _cutouts(sheet)),
        line((490, y + 80), (490, y + 210), (502, y + 210)),
        '<circle cx="490" cy="150" r="3"/><circle cx="490" cy="230" r="3"/>',
        contact(502, y + 210, "", closed=fan["runs_when_ours"]), line((542, y + 210), (630, y + 210)),
        text(505, y + 245, _fan_words(fan), "s", "start"),
        box(630, y + 192, 100, 36, "cooling fan\nof the oven" if fan["in_oven"] else "no fan"),
    ]  # fmt: skip
    return "".join(drawn)


def _second_contactor(sheet, y):
    """What stands between K1 and the relays: the limiter's own contactor, or a plain conductor."""
    limit = sheet["high_limit"]
    if not (limit["fitted"] and limit["own_contactor"]):
        return [line((542, y), (612, y))]
    rated = "" if limit["contactor_a"] is None else f" {limit['contactor_a']:g} A"
    words = text(576, y - 18, f"K4{rated}", "s")
    return [line((542, y), (556, y)), contact(556, y, ""), words, line((596, y), (612, y))]


def _own(sheet, acts):
    """Names of the oven's cut-outs that act in OURS, or that do not."""
    return [entry["name"] for entry in sheet["survey"]
            if entry["part"] == "cutout" and entry["decision"] != "absent"
            and (entry["acts_in_ours"] is True and entry["decision"] != "removed") == acts]  # fmt: skip


def _wrapped(words, width=17):
    return "\n".join(textwrap.wrap(words, width)[:4])


def _cutouts(sheet):
    """The oven's own cut-outs in the common path: between the transfer switch and the elements."""
    names = _own(sheet, True)
    if not names:
        return "NO CUT-OUT\nof the oven\nacts in OURS"
    return "own cut-outs,\nin OURS too:\n" + "\n".join(_wrapped(name) for name in names[:3])


def _original(sheet):
    names = _own(sheet, False)
    return "" if not names else "\n+ " + _wrapped(", ".join(names), 24).split("\n")[0] + " (ONLY HERE)"


def _fan_words(fan):
    if not fan["in_oven"]:
        return "none in this oven"
    if not fan["runs_when_ours"]:
        return "NOT RUN while ours heats"
    return (
        "K3 11-12, normally closed, behind the transfer switch's changeover:\n"
        "runs whenever OURS is selected, board dead or alive"
    )


def _zones(sheet, figures, y):
    drawn = [line((612, y + 40), (612, y + 120))]
    for zone, dy, out in (("top", 40, -10), ("deck", 120, 90)):
        relay = sheet["relays"][zone]
        kind = {"ssr": "SSR", "contactor": "contactor", "relay": "relay"}[relay["kind"]]
        words = f"fuse + {kind}, {zone}\n{relay['rated_a']:g} A"
        power, amps = figures[f"power_{zone}"].plain(), figures[f"current_{zone}"].plain()
        drawn += [
            line((612, y + dy), (624, y + dy)), box(624, y + dy - 20, 124, 40, words),
            line((748, y + dy), (800, y + dy)),
            line((885, y + out), (897, y + out)), line((1000, y + out), (1012, y + out)),
            box(1012, y + out - 24, 110, 48, f"{zone} element\n{power}, {amps}"),
        ]  # fmt: skip
    drawn.append(
        f'<rect class="dash" x="497" y="{y + 12}" width="262" height="140"/>'
        + text(505, y + 28, "relay box", "s b", "start")
    )
    return "".join(drawn)


def _coil_side(sheet, circuit):
    """The coil's chain, left to right, with terminals; under it the contacts that the board senses."""
    y, x = 480, 30
    limit = sheet["high_limit"]
    title = f"Coil chain of K1 at {circuit.voltage(CHAIN)}: any contact open = heat off"
    drawn = [text(30, y - 34, title, "b", "start")]
    for device, part in circuit.chain():
        name = device.name if device.name in circuit.chain_names() else ""
        words = f"{device.mark} {name}".strip()
        words += f"\n{part.terminals}\n{_wrapped(_chain_words(device, part, limit), 16)}"
        if part.kind == "contact":
            drawn.append(contact(x, y, words))
        elif part.kind == "fuse":
            drawn.append(f'<rect x="{x}" y="{y - 7}" width="40" height="14"/>' + line((x, y), (x + 40, y)))
            drawn.append(text(x + 20, y + 20, words, "s"))
        else:
            drawn.append(box(x - 10, y - 16, 60, 32, device.mark, "s b") + text(x + 20, y + 30, words, "s"))
        end = x + (50 if part.kind in ("output", "coil") else 40)
        drawn.append(line((end, y), (x + 150, y)))
        drawn += [_branch(circuit.device(coil), x + 96, y) for mark, coil in circuit.branches if mark == device.mark]
        x += 150
    drawn.append(text(x + 4, y + 4, "G1 -", "s", "start"))
    return "".join(drawn) + _sensed_side(sheet, circuit, y)


def _branch(device, x, y):
    """A coil that hangs from the chain at (x, y), its other end at the supply's return."""
    words = f"{device.mark} {device.on(CHAIN).terminals}\nto G1 -"
    return f'<circle cx="{x}" cy="{y}" r="3"/>' + line((x, y), (x, y + 46)) + box(x - 34, y + 46, 68, 36, words)


def _chain_words(device, part, limit):
    if part.kind == "coil":
        return "coil of the contactor"
    if device.name == "LIMIT_OK":
        setting = f"{limit['setting_c']:g} °C" if limit["fitted"] else "NONE"
        return f"high limit {setting}" + ("" if limit["manual_reset"] else ", self-resetting")
    return device.short


def _second_words(circuit):
    return "".join(f" {coil} hangs behind {mark} alone: nothing but {mark} opens it, and K1 falls with it."
                   for mark, coil in circuit.branches)  # fmt: skip


def _sensed_side(sheet, circuit, y):
    limit = sheet["high_limit"]
    cuts = {"contactor_coil": "as drawn", "elements": "the sheet says: cuts the elements itself",
            "relay_signal": "THE SHEET SAYS: CUTS THE RELAY'S SIGNAL ONLY"}  # fmt: skip
    apart = [f"{device.mark} {device.name} {device.on(BOARD).terminals}" for device, _ in circuit.chain()
             if device.name in circuit.chain_names()]  # fmt: skip
    rows = [
        f"High limit: {cuts.get(limit['cuts'], 'not fitted')}." + _second_words(circuit),
        f"The board senses at {circuit.voltage(BOARD)}, through contacts of their own: {', '.join(apart)}.",
        "Probes, sensed contacts and controller are kept apart from mains; their wiring is on the pin map.",
    ]
    return "".join(text(30, y + 100 + 18 * i, row, "s", "start") for i, row in enumerate(rows))


def diagram(sheet: dict, figures: dict, circuit: Circuit = CIRCUIT) -> str:
    """Inline SVG of the build as the sheet says it is."""
    circuit = of_sheet(sheet, circuit)
    title = f"One-line diagram (2 = both conductors, PE = protective earth); return: {who.returning(sheet).words}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'width="100%" role="img" aria-label="one-line diagram"><style>{STYLE}</style>'
        + text(15, 22, title, "b", "start")
        + _power_side(sheet, figures) + _coil_side(sheet, circuit) + "</svg>"
    )  # fmt: skip
