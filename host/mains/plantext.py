"""The plan as lines for a terminal."""

from host.findings import GRADES, MEANING
from host.mains import poles, readings
from host.mains.cautions import CAUTIONS, QUESTIONS
from host.mains.labels import LABELS
from host.mains.plan import Plan


def lines(plan: Plan) -> list[str]:
    """Lines of text: findings first, then figures, parts, the way back, cautions."""
    text = [plan.summary(), ""]
    for grade in GRADES:
        found = [finding for finding in plan.findings if finding.grade == grade]
        if found:
            text += [f"{grade.upper()}: {MEANING[grade]}"]
            for finding in found:
                text += _finding(finding)
            text.append("")
    text.append("MEASURED")
    text += [f"  {what}: {got or 'NOT KNOWN'}, {limit}" for what, got, limit, _ in readings.rows(plan)]
    text += ["", "FIGURES"]
    text += [f"  {LABELS[key]}: {value}" for key, value in plan.figures.items()]
    text += ["", "PARTS, least ratings"]
    text += [f"  {part.what}: {part.shown}" for part in plan.parts]
    text += ["", f"WHO CUTS WHICH CONDUCTOR (the elements' return: {poles.returning(plan.sheet).words})"]
    text += [f"  {device}: {cuts} ({why})" for device, cuts, why in poles.who_cuts(plan.sheet)]
    text += ["", "THE WAY BACK"]
    text += _reversal(plan.reversal)
    text += ["", "QUESTIONS LEFT TO THE ELECTRICIAN"] + [f"  - {ask}" for ask in QUESTIONS]
    text += ["", "CAUTIONS"] + [f"  - {caution}" for caution in CAUTIONS]
    text += [f"({word})" for word in plan.words]
    return text


def _finding(finding):
    against = finding.against()
    first = f"  [{finding.code}] {finding.text}" + (f" {against}." if against else "")
    return [first, f"      source: {finding.source}", f"      mend: {finding.mend}"]


def _reversal(sheet):
    text = [f"  {w['wire']}: from {w['from']} to {w['to']}" for w in sheet["moved_wires"]]
    text += [f"  {e['name']}: {e['decision']} by {e['by']}" for e in sheet["changed_parts"]]
    text += [f"  above its rating at the high limit: {e['name']}" for e in sheet["above_rating_at_limit"]]
    hours = sheet["hours_above_rating_h"]
    text += [f"  hours above rating: {name} {hours[name]:.2f} h" for name in sorted(hours)]
    if not hours:
        text.append("  hours above rating: no run file counted yet (--run)")
    return text + [f"  [ ] {test}" for test in sheet["retests"]]
