"""The printable page that a licensed electrician is shown: one HTML file, nothing fetched."""

from html import escape

from host.findings import GRADES, MEANING
from host.mains import poles, readings
from host.mains.cautions import CAUTIONS, QUESTIONS
from host.mains.checks.places import part_seen
from host.mains.diagram import diagram
from host.mains.labels import LABELS
from host.mains.parts import of_sheet
from host.mains.plan import Plan
from host.page import document, scrolled
from host.page.style import PLAN

EMPTY = "________"


def page(plan: Plan) -> str:
    """The whole page as HTML text."""
    sections = (
        _head, _findings, _measured, _diagram, _circuit, _poles, _figures, _parts, _hot_parts, _survey, _reversal,
        _cautions, _questions, _signature,
    )  # fmt: skip
    return document(plan.sheet["name"], [section(plan) for section in sections], PLAN)


def table(heads: tuple, rows: list, kinds: list | None = None) -> str:
    """HTML table; cells are escaped; `kinds` gives each row's class."""
    kinds = kinds or [""] * len(rows)
    head = "".join(f"<th>{escape(h)}</th>" for h in heads)
    body = "".join(
        "<tr>" + "".join(f'<td class="{kind if i == 0 else ""}">{_cell(c)}</td>'
                         for i, c in enumerate(row)) + "</tr>"
        for row, kind in zip(rows, kinds, strict=True)
    )  # fmt: skip
    return scrolled(f"<table><tr>{head}</tr>{body}</table>", heads[0])


def _cell(value):
    shown = EMPTY if value in (None, "") else escape(str(value))
    return shown.replace("(to be verified)", '<span class="verify">(to be verified)</span>')


def _head(plan):
    sheet = plan.sheet
    date = escape(sheet["date"] or EMPTY)
    return (
        f"<h1>Mains and parts plan: {escape(sheet['name'])}</h1>"
        f"<p>Sheet of {date}. Premises: {escape(sheet['premises']['kind'])}. Rules applied: "
        f"{'IEC 60364' if sheet['supply']['rules'] == 'iec' else 'NEC'}; local code comes first. "
        "This is a question to a licensed electrician. It proves nothing about the oven.</p>"
        f"<p><b>{escape(plan.summary())}</b></p>"
    )


def _findings(plan):
    rows = [
        (f.grade, f.text, f.against() or "-", f.source, f.mend) for f in plan.findings
    ]  # fmt: skip
    kinds = ["grade " + finding.grade for finding in plan.findings]
    meaning = "; ".join(f"{grade}: {MEANING[grade]}" for grade in GRADES)
    heads = ("Grade", "Finding", "Figure against limit", "Source", "What mends it")
    return f'<h2>Findings</h2><p class="small">{escape(meaning)}.</p>' + table(heads, rows, kinds)


def _measured(plan):
    """What the licensed person read, against what it has to be; a line to fill in where nothing is known."""
    supply = plan.sheet["supply"]
    when, who, what = (supply[key] or EMPTY for key in ("measured_on", "measured_by", "instrument"))
    by = f"Read on {when} by {who}, with {what}."
    heads = ("Reading", "Measured", "Limit", "From where")
    return f'<h2>Measured</h2><p class="small">{escape(by)}</p>' + table(heads, readings.rows(plan))


def _diagram(plan):
    return "<h2>One-line diagram</h2>" + scrolled(diagram(plan.sheet, plan.figures), "One-line diagram")


def _circuit(plan):
    """Every contact of the build with its voltage, as the description of the circuit has it."""
    circuit = of_sheet(plan.sheet)
    rows = [
        (
            device.mark,
            device.name or "-",
            device.what,
            contact.terminals,
            circuit.voltage(contact.circuit),
            contact.closed,
        )
        for device in circuit.devices
        for contact in device.contacts
    ]
    heads = ("Mark", "Pin map", "Device", "Terminals (the print on the device first)", "Voltage", "Closed")
    words = (
        '<p class="small">One contact, one voltage: no row shares a contact, a cable or a terminal block with a row of '
    )
    return "<h2>Contacts and voltages</h2>" + words + "another voltage.</p>" + table(heads, rows)


def _poles(plan):
    back = poles.returning(plan.sheet)
    words = f'<p class="small">The elements\' return here: {escape(back.words)} ({escape(back.rule)}).</p>'
    heads = ("Device", "Cuts", "Why")
    return "<h2>Who cuts which conductor</h2>" + words + table(heads, poles.who_cuts(plan.sheet))


def _figures(plan):
    rows = [(LABELS[key], str(value), value.source) for key, value in plan.figures.items()]
    return "<h2>Figures</h2>" + table(("What", "Figure", "How and from where"), rows)


def _parts(plan):
    rows = [(part.what, part.shown, part.source) for part in plan.parts]
    heads = ("Part", "Least rating", "Why, from where")
    return "<h2>Parts, least ratings (no brands)</h2>" + table(heads, rows)


def _hot_parts(plan):
    rows = []
    for part in plan.sheet["part"]:
        seen = part_seen(plan.sheet, part)
        rows.append((part["name"], part["kind"], part["place"], f"{part['rated_c']:g} degC",
                     str(seen), seen.source))  # fmt: skip
    heads = ("Part", "Kind", "Place", "Rated", "Expected with the cavity at the limit", "Source")
    return "<h2>Parts near the heat</h2>" + table(heads, rows)


def _survey(plan):
    rows = [
        (e["part"], e["name"], e["place"], e["rated_c"] and f"{e['rated_c']:g} degC",
         e["decision"], e["by"] or "-", e["why"] or "-")
        for e in plan.sheet["survey"]
    ]  # fmt: skip
    heads = ("Part", "As found", "Place", "Rating", "Decision", "By", "Why")
    rows = [(*row, *_cutout(e)) for row, e in zip(rows, plan.sheet["survey"], strict=True)]
    heads += ("Acts in OURS", "Opens at")
    return "<h2>Survey of the oven</h2>" + table(heads, rows)


def _cutout(entry):
    """What the survey says of a cut-out; "-" for any other part, a line to fill in where it is not known."""
    if entry["part"] != "cutout" or entry["decision"] == "absent":
        return "-", "-"
    through = {"elements": "yes, the elements' common conductor", "chain": "yes, the COIL'S CHAIN"}
    acts = {
        True: through.get(entry["acts_through"], "yes, through ________"),
        False: f"no; job done by: {entry['job_done_by'] or 'NOTHING'}",
        None: None,
    }[entry["acts_in_ours"]]
    return acts, entry["opens_c"] and f"{entry['opens_c']:g} degC"


def _reversal(plan):
    sheet = plan.reversal
    wires = [(w["wire"], w["from"], w["to"], w["by"], None) for w in sheet["moved_wires"]]
    heads = ("Wire", "Original terminal", "Now on", "Moved by", "Back (date, name)")
    hours = [(name, f"{h:.2f} h") for name, h in sorted(sheet["hours_above_rating_h"].items())]
    above = [
        (e["name"], f"{e['rated_c']:g} degC", f"{e['expected']['number']:.0f} degC")
        for e in sheet["above_rating_at_limit"]
    ]
    text = "<h2>Reversal sheet</h2>" + table(heads, wires)
    text += f'<p class="small">Ledger: {sheet["runs_counted"]} runs counted.</p>'
    if hours:
        text += table(("Part", "Hours above its rating"), hours)
    if above:
        text += table(("Above its rating at the high limit", "Rated", "Expected"), above)
    tests = [(test, None) for test in sheet["retests"]]
    heads = ("Retest before everyday use", "Figure, date, name")
    return text + "<p></p>" + table(heads, tests)


def _cautions(plan):
    items = "".join(f"<li>{escape(caution)}</li>" for caution in CAUTIONS)
    return f"<h2>Cautions</h2><ul>{items}</ul>"


def _questions(plan):
    rows = [(question, None) for question in QUESTIONS]
    return "<h2>Questions left to the electrician</h2>" + table(("Question", "Answer"), rows)


def _signature(plan):
    words = "".join(f"<li>{escape(word)}</li>" for word in plan.words)
    return (
        "<h2>Seen by</h2><p>Licensed electrician, licence number: "
        '<span class="line">&nbsp;</span></p><p>Date, signature: <span class="line">&nbsp;</span>'
        '</p><p>Differs from this plan: <span class="line">&nbsp;</span></p>'
        + (f'<ul class="small">{words}</ul>' if words else "")
    )
