"""The one-line diagram of the build as inline SVG: our own drawing, black on white.

Supply, then two ways to the one transfer switch, whose commons go to the elements: the original
controller above, contactor and relays below. Under it the coil circuit of the contactor, in which
every permissive is a contact in series.
"""

from html import escape

WIDTH, HEIGHT = 1020, 590
STYLE = (
    "text{font:13px sans-serif;fill:#000}.s{font-size:11px}.b{font-weight:bold}"
    "rect,line,circle,path,polyline{stroke:#000;stroke-width:1.6;fill:none}"
    ".box{fill:#fff}.dash{stroke-dasharray:6 4}.thin{stroke-width:1}"
)


def text(x, y, words, kind="", anchor="middle"):
    """SVG text; `words` may hold several lines."""
    rows = words.split("\n")
    return "".join(
        f'<text x="{x}" y="{y + 14 * i}" class="{kind}" text-anchor="{anchor}">{escape(row)}</text>'
        for i, row in enumerate(rows)
    )


def box(x, y, width, height, words, kind="s"):
    """A framed block with centred lines of text."""
    rows = words.count("\n") + 1
    first = y + height / 2 - 7 * (rows - 1) + 4
    frame = f'<rect class="box" x="{x}" y="{y}" width="{width}" height="{height}"/>'
    return frame + text(x + width / 2, first, words, kind)


def line(*points, kind=""):
    """A polyline through (x, y) points."""
    path = " ".join(f"{x},{y}" for x, y in points)
    return f'<polyline class="{kind}" points="{path}"/>'


def poles(x, y):
    """The two strokes that say two conductors and protective earth on a one-line conductor."""
    strokes = "".join(
        f'<line class="thin" x1="{x + d}" y1="{y + 7}" x2="{x + d + 6}" y2="{y - 7}"/>' for d in (0, 6, 12)
    )
    return strokes + text(x + 12, y - 12, "2+PE", "s")


def contact(x, y, words, closed=False):
    """A contact in a horizontal conductor at (x, y), 40 wide, with its name below."""
    tip = y if closed else y - 12
    return (
        f'<line x1="{x}" y1="{y}" x2="{x + 8}" y2="{y}"/>'
        f'<line x1="{x + 8}" y1="{y}" x2="{x + 33}" y2="{tip}"/>'
        f'<line x1="{x + 32}" y1="{y}" x2="{x + 40}" y2="{y}"/>' + text(x + 20, y + 20, words, "s")
    )


def earth(x, y):
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
        "breaker": f"Breaker 2P\n{curve}{supply['breaker_a']} A\nRCD/GFCI\n{residual}",
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
        box(540, y - 92, 150, 44, "Original controller\nand its own cut-outs"),
        line((690, y - 70), (800, y - 70)), text(745, y - 78, "top, deck", "s"),
        line((490, y), (490, y + 80), (502, y + 80)), contact(502, y + 80, ""),
        text(505, y + 102, rating, "s", "start"), line((542, y + 80), (612, y + 80)),
        box(800, y - 95, 85, 250, f"Transfer\nswitch\n{rated}\n\nORIGINAL\n|\nOFF\n|\nOURS"),
        _zones(sheet, figures, y),
        line((490, y + 80), (490, y + 210), (502, y + 210)),
        '<circle cx="490" cy="150" r="3"/><circle cx="490" cy="230" r="3"/>',
        contact(502, y + 210, "", closed=fan["runs_when_ours"]), line((542, y + 210), (630, y + 210)),
        text(505, y + 245, _fan_words(fan), "s", "start"),
        box(630, y + 192, 100, 36, "cooling fan\nof the oven" if fan["in_oven"] else "no fan"),
    ]  # fmt: skip
    return "".join(drawn)


def _fan_words(fan):
    if not fan["in_oven"]:
        return "none in this oven"
    if not fan["runs_when_ours"]:
        return "NOT RUN while ours heats"
    return "normally closed contact: runs whenever OURS is selected,\nboard dead or alive"


def _zones(sheet, figures, y):
    drawn = [line((612, y + 40), (612, y + 120))]
    for zone, dy, out in (("top", 40, -10), ("deck", 120, 90)):
        relay = sheet["relays"][zone]
        kind = {"ssr": "SSR", "contactor": "contactor", "relay": "relay"}[relay["kind"]]
        words = f"fuse + {kind}, {zone}\n{relay['rated_a']:g} A"
        power, amps = figures[f"power_{zone}"].plain(), figures[f"current_{zone}"].plain()
        drawn += [
            line((612, y + dy), (624, y + dy)), box(624, y + dy - 20, 124, 40, words),
            line((748, y + dy), (800, y + dy)), line((885, y + out), (905, y + out)),
            box(905, y + out - 24, 110, 48, f"{zone} element\n{power}, {amps}"),
        ]  # fmt: skip
    drawn.append(
        f'<rect class="dash" x="497" y="{y + 12}" width="262" height="140"/>'
        + text(505, y + 28, "relay box", "s b", "start")
    )
    return "".join(drawn)


def _coil_side(sheet):
    y = 480
    limit = sheet["high_limit"]
    setting = f"{limit['setting_c']:g} °C" if limit["fitted"] else "NONE"
    reset = "hand reset" if limit["manual_reset"] else "self-resetting"
    names = (
        "fuse\ncontrol", f"high limit\n{setting}\n{reset}", "ENABLE\nkey or stop\nbutton",
        "selector\nin OURS", "controller\noutput\nor monostable",
    )  # fmt: skip
    drawn = [text(30, y - 34, "Coil circuit of K1: any contact open = heat off", "b", "start")]
    x = 30
    drawn.append(line((x, y), (x + 60, y)))
    x += 60
    for number, name in enumerate(names):
        if number == 0:
            drawn.append(f'<rect x="{x}" y="{y - 7}" width="40" height="14"/>')
            drawn.append(line((x, y), (x + 40, y)) + text(x + 20, y + 22, name, "s"))
        else:
            drawn.append(contact(x, y, name))
        drawn.append(line((x + 40, y), (x + 110, y)))
        x += 110
    drawn.append(box(x, y - 18, 60, 36, "K1\ncoil", "s b"))
    drawn.append(line((x + 60, y), (x + 110, y)) + text(x + 118, y + 4, "N", "s", "start"))
    cuts = {"contactor_coil": "as drawn", "elements": "the sheet says: cuts the elements itself",
            "relay_signal": "THE SHEET SAYS: CUTS THE RELAY'S SIGNAL ONLY"}  # fmt: skip
    words = cuts.get(limit["cuts"], "not fitted")
    drawn.append(text(30, y + 82, f"High limit: {words}.", "s", "start"))
    drawn.append(text(
        30, y + 100, "Probes, sensed contacts and the controller are extra-low voltage, kept apart "
        "from mains; their wiring is on the pin map.", "s", "start"))  # fmt: skip
    return "".join(drawn)


def diagram(sheet, figures):
    """Inline SVG of the build as the sheet says it is."""
    title = "One-line diagram (2 = both conductors, PE = protective earth)"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'width="100%" role="img" aria-label="one-line diagram"><style>{STYLE}</style>'
        + text(15, 22, title, "b", "start")
        + _power_side(sheet, figures) + _coil_side(sheet) + "</svg>"
    )  # fmt: skip
