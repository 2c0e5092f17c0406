"""Findings on plug, contactor, transfer switch, limiter and relays against the device that stands before them."""

from host.mains import breaker as breakers
from host.mains import coordination, device_rules, ssr
from host.mains.coordination import CONTACTOR_SIZES_A, RULE, SWITCH_SIZES_A, size_at_least
from host.mains.finding import Finding
from host.mains.plugs import PLUGS, better
from host.mains.value import Value, given


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on what the breaker (or a fuse) has to protect."""
    found = [finding for part in (_plug, _contactor, _transfer, _limiter) for finding in part(sheet, figures)]
    for zone in ("top", "deck"):
        found += [*_relay(sheet, zone), *_fuse(sheet, figures, zone)]
    return found


def _plug(sheet, figures):
    supply = sheet["supply"]
    plug, before = PLUGS[supply["connection"]], coordination.breaker(sheet)
    if not before.over(plug.breaker_max):
        if before.over(plug.rated) and not plug.fused:
            yield Finding("outlet-below-breaker", "note", f"The breaker is larger than the outlet: {plug.text}.",
                          plug.breaker_max.source, "Usual there; the load stays below the outlet's rating.", before,
                          plug.rated)  # fmt: skip
        return
    load = max(figures["current_high"].number, figures["breaker_needed"].number)
    step = size_at_least(breakers.ratings_a(supply["rules"]), load)
    smaller = step is not None and step <= plug.breaker_max.number
    name = better(figures["current_high"].number, supply["voltage_v"], supply["rules"], supply["connection"],
                  before.number)  # fmt: skip
    remedy = Value(step, "A", source=RULE) if smaller else PLUGS[name].rated
    mend = f"A breaker of {step} A." if smaller else f"{PLUGS[name].text}."
    far = supply["rules"] == "nec" or before.number > 1.25 * plug.breaker_max.number
    yield Finding("breaker-above-plug", "stop" if far else "change",
                  f"The breaker lets through more than this is rated for: {plug.text}.",
                  f"{RULE}; {plug.breaker_max.source}", mend, before, plug.breaker_max, remedy)  # fmt: skip


def _device(sheet, figures, name, words, sizes):
    """A contactor or switch behind the breaker: its rating, or its maker's largest fuse, is at least as much."""
    device, before = sheet[name], coordination.device_before(sheet)
    if not device["fitted"] or device["rated_a"] is None:
        return
    key = "rated_a" if device["max_fuse_a"] is None else "max_fuse_a"
    bears = given(device[key], "A", f"{name}.{key}")
    if not before.over(bears):
        return
    size = size_at_least(sizes, before.number, figures["current_high"].number)
    remedy = None if size is None else Value(size, "A", source=RULE)
    mend = (
        f"One rated {remedy or before} or more, or a smaller breaker if the load allows; or the maker's largest fuse "
        f"for it (max_fuse_a) from its data sheet, {before} or more."
    )
    if key == "max_fuse_a":  # what the maker allows decides, whatever its rating
        mend, remedy = f"One whose maker allows {before} before it (max_fuse_a), or a smaller breaker.", before
    yield Finding(f"{name}-unprotected", "stop",
                  f"The {words} is behind more than it is rated for; a short circuit may weld or burst it.", RULE, mend,
                  before, bears, remedy)  # fmt: skip


def _contactor(sheet, figures):
    yield from _device(sheet, figures, "contactor", "contactor", CONTACTOR_SIZES_A)


def _transfer(sheet, figures):
    yield from _device(sheet, figures, "transfer", "transfer switch", SWITCH_SIZES_A)


def _limiter(sheet, figures):
    """A limiter that breaks the elements' current itself needs a contact for it; a contactor of its own bears it."""
    limit = sheet["high_limit"]
    if not limit["fitted"]:
        return
    yield from _own_contactor(sheet, figures)
    if limit["cuts"] != "elements":
        return
    yield from _unseen(sheet)
    if limit["contact_a"] is None:
        return
    rated, high = given(limit["contact_a"], "A", "high_limit.contact_a"), figures["current_high"]
    before = coordination.device_before(sheet)
    mend = 'Its contact into the coil\'s chain (cuts = "contactor_coil"), where it breaks a fraction of an ampere.'
    if high.over(rated):
        yield Finding("limiter-contact", "stop", "The limiter's contact is not made for the elements' current.",
                      "limiter's data sheet, resistive load", mend, high, rated, high)  # fmt: skip
    elif before.over(rated):
        yield Finding("limiter-unprotected", "stop", "The limiter's contact is behind more than it is rated for.", RULE,
                      mend, before, rated, before)  # fmt: skip


def _own_contactor(sheet, figures):
    limit = sheet["high_limit"]
    if not limit["own_contactor"] or limit["contactor_a"] is None:
        return
    rated, before = given(limit["contactor_a"], "A", "high_limit.contactor_a"), coordination.device_before(sheet)
    most = max((figures["current_high"], before), key=lambda value: value.number)
    if most.over(rated):
        size = size_at_least(CONTACTOR_SIZES_A, most.number)
        yield Finding("limiter-contactor-unprotected", "stop",
                      "The limiter's own contactor is behind more than it is rated for: it may weld.", RULE,
                      f"One rated {size or most.number:g} A, AC-1, or more.", most, rated,
                      None if size is None else Value(size, "A", source=RULE))  # fmt: skip


def _unseen(sheet):
    """Commissioning wants to see the limiter open the contactor; one that cuts elsewhere alone it cannot see."""
    grade = device_rules.grade_without("LIMIT_OK", sheet["oven"]["wanted_c"])
    yield Finding("limiter-not-seen", grade, "The limiter cuts the elements and leaves the contactor closed: its test "
                                             "cannot be witnessed.",
                  f"the limiter has to open the contactor before the program could; "
                  f"{device_rules.rule_without('LIMIT_OK')}",
                  "Its contact into the coil's chain (cuts = \"contactor_coil\"); what it cuts besides is no "
                  "harm.")  # fmt: skip


def _relay(sheet, zone):
    relay, before = sheet["relays"][zone], coordination.relay_before(sheet, zone)
    key = "rated_a" if relay["max_fuse_a"] is None else "max_fuse_a"
    bears = given(relay[key], "A", f"relays.{zone}.{key}")
    if before.over(bears):
        size = size_at_least(ssr.RATINGS_A, before.number)
        remedy = None if size is None else Value(size, "A", source=RULE)
        mend = f"A relay rated {remedy or before}, or a fuse of its own of at most {bears}."
        if key == "max_fuse_a":
            mend, remedy = f"A fuse of its own of at most {bears}, or a relay whose maker allows {before}.", before
        yield Finding("relay-unprotected", "stop", f"The {zone} relay is behind more than it is rated for.", RULE, mend,
                      before, bears, remedy)  # fmt: skip


def _fuse(sheet, figures, zone):
    """The fast fuse of a solid-state relay: there, large enough for the load, and faster than the relay dies."""
    relay = sheet["relays"][zone]
    if relay["kind"] != "ssr":
        return
    source = "relay maker's advice: a fast fuse in series (one maker's FAQ)"
    if relay["fuse_a"] is None:
        yield Finding("relay-fuse-none", "change", f"The {zone} relay has no fast fuse: a short circuit leaves "
                                                   f"it closed.",
                      source, "A semiconductor fuse whose total I2t is below the relay's.")  # fmt: skip
        return
    fuse = given(relay["fuse_a"], "A", f"relays.{zone}.fuse_a")
    high = figures[f"current_{zone}_high"]
    if high.over(fuse):
        yield Finding("relay-fuse-small", "change", f"The {zone} relay's fuse is smaller than the element's current.",
                      "fuse's data sheet", "The next size above, if its I2t stays below the relay's.", high, fuse,
                      high)  # fmt: skip
    if relay["i2t_a2s"] is None or relay["fuse_i2t_a2s"] is None:
        yield Finding("relay-fuse-unknown", "change", f"I2t of the {zone} relay or of its fuse is not given.", source,
                      "Take relays.*.i2t_a2s and fuse_i2t_a2s from the data sheets.")  # fmt: skip
        return
    passes = given(relay["fuse_i2t_a2s"], "A2s", f"relays.{zone}.fuse_i2t_a2s")
    bears = given(relay["i2t_a2s"], "A2s", f"relays.{zone}.i2t_a2s")
    if not passes.under(bears):
        yield Finding("relay-fuse-slow", "change",
                      f"The {zone} relay dies before its fuse melts, and a dead relay stays closed.", source,
                      f"A fuse of less than {bears.plain()}, or a relay that bears more.", passes, bears,
                      Value(0.99 * bears.number, "A2s", source=source))  # fmt: skip
