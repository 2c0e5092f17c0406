"""Findings on what kind of appliance this is: refused kinds, mounting, insulation, fans, lock, what was not listed."""

from host.mains.finding import Finding
from host.mains.ratings import expected_c
from host.mains.value import MEMORY, Value, derived, given

REFUSED = {
    "gas": "gas and its flue are outside this tool: flame failure, ventilation and gas law",
    "dual_fuel": "a gas part beside heated wiring is outside this tool",
    "microwave": "high voltage, stored charge and leakage of radiation: its door interlocks must never be touched",
    "steam": "a boiler, its water and its pressure relief are outside this tool, and its seals bear no such heat",
}
ASBESTOS_UNTIL = 1990  # year of make; house, from memory: national bans came from the 1980s to 2005
ALWAYS_THERE = ("wire", "terminal", "gasket")  # kinds of parts that no oven is without
BUILT_IN = Value(150, "mm", MEMORY, "common practice, no source; the oven's manual comes first")


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on the appliance as a whole."""
    parts = (_kind, _mounting, _insulation, _listed, _lock, _cooling_fan, _hot_air_fan, _elements)
    return [finding for part in parts for finding in part(sheet)]


def _kind(sheet):
    kind = sheet["oven"]["appliance"]
    if kind in REFUSED:
        yield Finding("appliance-refused", "stop", f"A {kind.replace('_', ' ')} appliance: {REFUSED[kind]}.",
                      "this tool is for plain electric ovens", "Another oven.")  # fmt: skip


def _mounting(sheet):
    oven = sheet["oven"]
    clearance = given(oven["clearance_mm"], "mm", "oven.clearance_mm")
    if oven["mounting"] == "built_in" and clearance.under(BUILT_IN):
        yield Finding("built-in", "stop", "Built into furniture without room around it: wood chars long before "
                                          "it burns.",
                      BUILT_IN.source, f"Take it out of the furniture: at least {BUILT_IN} to anything that "
                                       f"burns, more "
                      "above.", clearance, BUILT_IN, BUILT_IN)  # fmt: skip
    elif clearance.number == 0:
        yield Finding("no-clearance", "stop", "The oven touches what burns.", BUILT_IN.source,
                      f"At least {BUILT_IN}, more above.", clearance, BUILT_IN, BUILT_IN)  # fmt: skip


def _insulation(sheet):
    oven = sheet["oven"]
    year, kind = oven["made_year"], oven["insulation"]
    law = "asbestos: national law, work by licensed firms only (from memory)"
    if kind == "asbestos":
        yield Finding("asbestos", "stop", "Its insulation is asbestos.", law,
                      "Do not open, drill, heat beyond its rating or move it about: another oven, and a licensed firm "
                      "for this one.")  # fmt: skip
    elif year is not None and year < ASBESTOS_UNTIL and kind != "asbestos_free_tested":
        limit = Value(ASBESTOS_UNTIL, "year", MEMORY, law)
        yield Finding("asbestos-era", "stop", "An oven of these years may have asbestos in walls, door seal or "
                                              "lead sleeves.",
                      law, 'A laboratory\'s test before anything is opened (insulation = "asbestos_free_tested"), or '
                      "another oven.", given(year, "year", "oven.made_year"), limit)  # fmt: skip
    if kind == "ceramic_fibre":
        yield Finding("ceramic-fibre", "note", "Refractory ceramic fibre may cause cancer when its dust is breathed.",
                      "EU classification 1B of refractory ceramic fibres (from memory)",
                      "Damp it, mask and gloves, no loose edges, no vacuum cleaner.")  # fmt: skip


def _listed(sheet):
    if not sheet["part"]:
        yield Finding("no-parts", "stop", "No part near the heat is listed: nothing was looked at.",
                      "wires, terminals, gasket and glass were rated for the original temperature",
                      "A [[part]] entry for each wire, terminal, sleeve, gasket and glass near the "
                      "cavity.")  # fmt: skip
        return
    missing = [kind for kind in ALWAYS_THERE if not any(part["kind"] == kind for part in sheet["part"])]
    if missing:
        yield Finding("parts-gap", "change", f"No part of this kind is listed: {', '.join(missing)}.",
                      "every oven has them near the heat (common practice, no source)",
                      "A [[part]] entry for each, with what it is rated for.")  # fmt: skip


def _lock(sheet):
    locks = [entry for entry in sheet["survey"] if entry["part"] == "lock"]
    if sheet["oven"]["pyrolytic"] is not True:
        return
    if not locks or all(entry["decision"] == "absent" for entry in locks):
        yield Finding("lock-missed", "stop", "A pyrolytic oven has a door lock, and the survey knows none.",
                      "such ovens lock above some 300 degC (common practice, no source)",
                      "Find it: motor or bimetal, what drives it, and what it does in OURS.")  # fmt: skip
    for entry in locks:
        if entry["decision"] == "kept":
            yield Finding("lock-kept", "stop", f"{entry['name']} may lock the door while bread burns behind it.",
                          "it is driven by the original controller or by heat, not by the baker",
                          "Take the lock's latch out (decision removed, by and why), and put it back at reversal: "
                          "self-cleaning without it is not allowed either.")  # fmt: skip
        elif entry["decision"] in ("removed", "moved"):
            yield Finding("lock-out", "note", "Without its lock the oven must not clean itself in ORIGINAL.",
                          "the lock keeps the door shut at its 500 degC (from memory)",
                          "Say so on the front; back and tested at reversal.")  # fmt: skip


def _cooling_fan(sheet):
    fan = sheet["cooling_fan"]
    if not fan["in_oven"]:
        return
    if fan["changed_over"] is False:
        yield Finding("fan-two-feeds", "stop", "The cooling fan hangs on the original board's output and on our "
                                               "relay at once.",
                      "two feeds joined at one motor: our relay feeds back into the original board",
                      "A changeover contact of the transfer switch for the fan's live end.")  # fmt: skip
    if fan["fed_by"] is None:
        return
    if fan["fed_by"] == "original_board":
        yield Finding("fan-on-original", "stop", "The original board feeds the cooling fan, and it is out in OURS.",
                      "the fan must run whenever OURS is selected, our board dead or alive",
                      "A normally closed relay contact (a.c. motor) or a supply of its own (d.c. motor) that the "
                      "transfer "
                      "switch turns on in OURS.")  # fmt: skip
    elif fan["motor"] in ("dc", "electronic") and fan["fed_by"] == "mains_contact":
        yield Finding("fan-not-for-mains", "stop", "A d.c. or electronic fan motor cannot be fed by a mains contact.",
                      "motor's plate", 'A supply of its own with its voltage (fed_by = "own_supply"), on in OURS, '
                      "separated from mains.")  # fmt: skip
    elif fan["motor"] == "electronic":
        yield Finding("fan-electronic", "note", "An electronic fan may stand still without its speed signal.",
                      "motor's data sheet", "Prove it: full speed in OURS with the board unplugged.")  # fmt: skip


def _hot_air_fan(sheet):
    fan = sheet["hot_air_fan"]
    if fan["fitted"] is not True or fan["in_ours"] == "removed" or fan["motor_max_c"] is None:
        return
    seen = expected_c("terminal", sheet["oven"]["wanted_c"], sheet["oven"]["room_c"], fan["motor_seen_c"],
                      fan["motor_seen_at_c"])  # fmt: skip
    rated = given(fan["motor_max_c"], "degC", "hot_air_fan.motor_max_c")
    if seen.over(rated):
        yield Finding("hot-air-motor", "stop", "The hot-air fan's motor behind the rear wall gets hotter than it "
                                               "bears.",
                      seen.source, "Take motor and blade out and close the hole with steel (in_ours = \"removed\"), or "
                      "measure the motor (motor_seen_c) and cool it.", seen, rated,
                      derived(seen.number, "degC", seen.source, seen))  # fmt: skip
    elif fan["in_ours"] == "stands":
        yield Finding("hot-air-stands", "note", "A blade that stands still takes the heat into its bearing.",
                      "common practice, no source", "Turn it by hand after the first hot evening.")  # fmt: skip


def _elements(sheet):
    for extra in sheet["extra_element"]:
        if extra["in_ours"] == "dead":
            yield Finding("element-dead", "note", f"{extra['name']} heats in ORIGINAL only; a pole of the "
                                                  f"transfer switch "
                          "keeps it dead in OURS.", "the only supported arrangement",
                          "Dead test at its terminals in OURS.")  # fmt: skip
