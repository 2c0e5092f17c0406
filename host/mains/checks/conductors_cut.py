"""Findings on who cuts which conductor: poles of transfer switch, contactor and limiter for this kind of supply."""

from host.mains import poles
from host.mains.finding import Finding
from host.mains.value import Value, given

JOINED = "two controllers must never feed one element; the only supported arrangement"


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on poles."""
    return [finding for part in (_said, _transfer, _contactor, _limiter) for finding in part(sheet)]


def _said(sheet):
    if poles.said_wrong(sheet):
        yield Finding("conductors-wrong", "stop", f"{sheet['supply']['voltage_v']} V under NEC has no neutral in it: "
                      "both conductors are live.", poles.TWO_LIVES_RULE,
                      'supply.conductors = "line_line", and every pole that asks.')  # fmt: skip


def _transfer(sheet):
    transfer = sheet["transfer"]
    if not transfer["fitted"]:
        return
    count = given(transfer["poles"], "poles", "transfer.poles")
    ends, wanted = poles.elements(sheet), poles.transfer_poles(sheet)
    back = poles.returning(sheet)
    least = Value(ends, "poles", source=JOINED)
    needed = Value(wanted, "poles", source=back.rule)
    if count.under(least):
        yield Finding("transfer-poles", "stop", f"{ends} elements and fewer poles: the transfer switch leaves "
                                                f"one joined.",
                      JOINED, f"{wanted} poles, break before make, ORIGINAL - OFF - OURS.", count, least,
                      needed)  # fmt: skip
    elif count.under(needed):
        yield Finding("transfer-live-left", "stop" if back.is_live else "change",
                      f"The elements' common end stays connected in OFF, and it is {back.words}.", back.rule,
                      f"{_in_words(wanted)} poles: {ends} elements and their common end.", count, needed,
                      needed)  # fmt: skip
    elif count.number == ends:
        yield Finding("transfer-neutral", "note",
                      "The switch changes over the elements' live ends; their common end stays on the neutral.",
                      back.rule, "Enough where the polarity is fixed; the electrician says whether here.", count,
                      least)  # fmt: skip


def _in_words(number):
    return {3: "Three", 4: "Four"}.get(number, str(number))


def _contactor(sheet):
    contactor = sheet["contactor"]
    if not contactor["fitted"]:
        return
    yield from _both(sheet, given(contactor["poles"], "poles", "contactor.poles"), "contactor-poles", "contactor")


def _limiter(sheet):
    limit = sheet["high_limit"]
    if limit["fitted"] and limit["cuts"] == "elements" and limit["contact_poles"] is not None:
        count = given(limit["contact_poles"], "poles", "high_limit.contact_poles")
        yield from _both(sheet, count, "limiter-poles", "high limit")
    if limit["fitted"] and limit["own_contactor"] and limit["contactor_poles"] is not None:
        count = given(limit["contactor_poles"], "poles", "high_limit.contactor_poles")
        yield from _both(sheet, count, "limiter-contactor-poles", "contactor of the limiter")


def _both(sheet, count, code, words):
    back = poles.returning(sheet)
    two = Value(2, "poles", source=f"both conductors are cut; {back.rule}")
    if count.under(two):
        yield Finding(code, "stop" if back.may_be_live else "change",
                      f"The {words} does not cut both conductors; the other is {back.words}.", two.source,
                      f"A double-pole {words}.", count, two, two)  # fmt: skip
