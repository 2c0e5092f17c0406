"""Every entry of the build sheet, table by table.

The bounds are house: wide enough for any domestic oven and its wiring, narrow enough to catch a wrong unit."""

from host.circuit import CHAIN_VOLTAGES
from host.mains.ampacity import IEC_METHODS, NEC_METHODS
from host.mains.breaker import RATINGS_IEC_A, RATINGS_NEC_A
from host.mains.conductors import AWG_GAUGES, SECTIONS_MM2
from host.mains.plugs import PLUGS
from host.mains.ratings import PLACES, SURVEY_PARTS
from host.mains.schema import asked, choice, flag, number, text

SENSED = ("own_contact", "separated_stage", "same_contact", "not_sensed")
_MEASURED = "measured by the licensed person, cold, before power"
_LOOK = "Look at the oven and its papers."


def _fan_in_oven(sheet, entry):
    return entry["in_oven"]


def _hot_air(sheet, entry):
    return entry["fitted"] is True


def _cuts_elements(sheet, entry):
    return entry["fitted"] and entry["cuts"] == "elements"


def _own_contactor(sheet, entry):
    return entry["fitted"] and entry["own_contactor"]


def _limit_fitted(sheet, entry):
    return sheet["high_limit"]["fitted"]


def _switch_fitted(sheet, entry):
    return sheet["transfer"]["fitted"]


def _acts(sheet, entry):
    return entry["part"] == "cutout" and entry["decision"] in ("kept", "moved")


def _in_ours(sheet, entry):
    return _acts(sheet, entry) and entry["acts_in_ours"] is True


def _opens(sheet, entry):
    return _acts(sheet, entry) and entry["acts_in_ours"] is not False


def _two_lives(sheet, entry):
    return entry["conductors"] == "line_line" or entry["system"] == "it" or (
        entry["rules"] == "nec" and entry["voltage_v"] > 120)  # fmt: skip


_ELEMENT = {
    "power_w": number("W", 100, 6000, None),
    "voltage_v": number("V", 100, 260, None),
    "ohms": number("ohm", 3, 600, None),
}
_RELAY = {
    "kind": choice("ssr", "contactor", "relay"),
    "rated_a": number("A", 1, 200),
    "rated_v": number("V", 12, 1000),
    "zero_cross": flag(True),
    "drop_v": number("V", 0.5, 3, None),
    "junction_case_k_w": number("K/W", 0.05, 10, None),
    "case_sink_k_w": number("K/W", 0, 5, 0.2),
    "junction_max_c": number("degC", 80, 175, 125),
    "operations": number("operations", 1000, 1e8, None),
    "i2t_a2s": number("A2s", 1, 1e6, None),
    "fuse_a": number("A", 1, 100, None),
    "fuse_i2t_a2s": number("A2s", 1, 1e6, None),
    "max_fuse_a": number("A", 1, 200, None),
}

TABLES = {
    "premises": {
        "kind": choice("home", "public", "rented"),
        "owner_consents": asked(flag(), "Ask the owner, in writing."),
        "insurer_consents": asked(flag(), "Ask the insurer, in writing."),
        "extinguisher": asked(flag(), "Look: an extinguisher for electrical fires and a fire blanket within reach."),
        "attended": asked(flag(), "Agree on a named person who stays until the oven is below 150 degC."),
    },
    "supply": {
        "rules": choice("iec", "nec"),
        "voltage_v": choice(120, 208, 230, 240),
        "phases": choice(1, default=1),
        "supplies": number("supplies", 1, 4, 1),
        "system": choice("tn", "tt", "it"),
        "conductors": choice("line_neutral", "line_line", default=None),
        "network": choice("public", "private", default="public"),
        "breaker_a": choice(*sorted(set(RATINGS_IEC_A + RATINGS_NEC_A))),
        "breaker_poles": asked(choice(1, 2), "Look at the board: how many poles does the breaker open?", _two_lives),
        "curve": choice("B", "C", "D", "nec"),
        "residual_ma": choice(0, 5, 6, 10, 30, 100, 300),
        "connection": choice(*PLUGS),
        "breaker_i2t_a2s": number("A2s", 100, 1e6, None),
        "earth": asked(choice("none", "present", "tested"), f"Plug to oven, box and heatsink, {_MEASURED}."),
        "earth_ohm": asked(number("ohm", 0, 100), f"Plug's earth to oven, box and heatsink, {_MEASURED}."),
        "loop_ohm": asked(number("ohm", 0.01, 10000), f"Earth-fault loop at the connection, {_MEASURED}."),
        "insulation_mohm": number("Mohm", 0, 1e6, None),
        "rcd_ma": number("mA", 0.1, 1000, None),
        "rcd_ms": number("ms", 0, 10000, None),
        "instrument": text(None),
        "measured_on": asked(text(), "Date of the earth and loop readings.", grade="change"),
        "measured_by": asked(text(), "Name and licence of who measured.", grade="change"),
        "other_load_a": number("A", 0, 60, 0),
        "price_per_kwh": number("a kWh", 0, 10),
        "currency": text("money units"),
    },
    "cable": {
        "length_m": number("m", 0.3, 200),
        "section_mm2": choice(*SECTIONS_MM2, default=None),
        "awg": choice(*AWG_GAUGES, default=None),
        "method": choice(*dict.fromkeys(IEC_METHODS + NEC_METHODS)),
        "layout": choice("radial", "ring", default="radial"),
        "insulation_c": number("degC", 60, 250, 70),
        "ambient_c": number("degC", -20, 90),
        "bunched_circuits": number("circuits", 1, 20, 1),
    },
    "cord": {
        "length_m": number("m", 0.1, 20),
        "section_mm2": choice(*SECTIONS_MM2, default=None),
        "awg": choice(*AWG_GAUGES, default=None),
        "ambient_c": number("degC", -20, 90),
    },
    "oven": {
        "appliance": asked(choice("electric", "gas", "dual_fuel", "microwave", "steam"), _LOOK),
        "mounting": asked(choice("freestanding", "built_in", "table_top"), _LOOK),
        "pyrolytic": asked(flag(), "Does it clean itself by heat? See its manual; its door lock belongs to that."),
        "made_year": asked(number("year", 1900, 2100), "Rating plate, serial number or seller."),
        "insulation": asked(
            choice("mineral_wool", "ceramic_fibre", "asbestos_free_tested", "asbestos"),
            "By its papers or a laboratory's sample; never by opening it to see.",
        ),
        "wanted_c": number("degC", 60, 530),
        "hours": number("h", 0.25, 24),
        "evenings_per_year": number("evenings", 1, 366, 40),
        "clearance_mm": number("mm", 0, 5000),
        "room_c": number("degC", -10, 50, 22),
        "volume_l": number("l", 15, 200, None),
        "held_at_c": number("degC", 120, 300, None),
        "held_w": number("W", 50, 5000, None),
        "minutes_on_per_hour": number("min", 1, 60, None),
    },
    "elements.top": _ELEMENT,
    "elements.deck": _ELEMENT,
    "control": {"window_s": number("s", 0.5, 300), "staggered": flag()},
    "relays": {"paralleled": flag()},
    "relays.top": _RELAY,
    "relays.deck": _RELAY,
    "heatsink": {"fitted": flag(), "k_w": number("K/W", 0.05, 20, None)},
    "contactor": {
        "fitted": flag(),
        "rated_a": number("A", 1, 200, None),
        "max_fuse_a": number("A", 1, 400, None),
        "poles": number("poles", 1, 4, None),
        "mirror_contact": flag(False),
    },
    "chain": {
        "kind": asked(choice(*CHAIN_VOLTAGES), "The voltage at which the contactor's coil runs: its plate.",
                      lambda sheet, entry: sheet["contactor"]["fitted"]),
        "separated": asked(flag(), "Has its supply double insulation to mains (SELV mark on its plate)?",
                           lambda sheet, entry: entry["kind"] not in (None, "mains")),
        "supply_w": number("W", 0, 60, None),
        "coil_w": number("W", 0.1, 40, None),
        "driver": asked(choice("relay", "transistor", "board_pin"), "What switches the coil: see its circuit.",
                        lambda sheet, entry: sheet["contactor"]["fitted"]),
        "driver_rated_v": asked(number("V", 3, 1000), "Its data sheet: rated voltage of its output.",
                                lambda sheet, entry: entry["driver"] in ("relay", "transistor")),
        "enable_sensed": asked(choice(*SENSED), "How does the board sense ENABLE: through which contact?"),
        "limit_sensed": asked(choice(*SENSED), "How does the board sense the high limit?", _limit_fitted),
        "selector_sensed": asked(choice(*SENSED), "How does the board sense the transfer switch?", _switch_fitted),
    },
    "box": {
        "width_mm": number("mm", 80, 1200),
        "height_mm": number("mm", 80, 1200),
        "depth_mm": number("mm", 50, 600),
        "material": choice("steel", "plastic"),
        "ambient_c": number("degC", -10, 80),
        "oven_distance_mm": number("mm", 0, 5000),
        "electronics_max_c": number("degC", 30, 125),
    },
    "thermocouple": {
        "type": choice("K", "N", "J", "T"),
        "sheath_max_c": number("degC", 100, 1300),
        "lead_max_c": number("degC", 60, 900),
        "lead_place": choice(*PLACES),
    },
    "high_limit": {
        "fitted": flag(),
        "setting_c": number("degC", 60, 700, None),
        "own_sensor": flag(False),
        "manual_reset": flag(False),
        "cuts": choice("contactor_coil", "elements", "relay_signal", default=None),
        "contact_a": asked(number("A", 0.1, 200), "The limiter's data sheet: its contact at a resistive load.",
                           _cuts_elements),
        "contact_poles": asked(number("poles", 1, 4), "The limiter's data sheet.", _cuts_elements),
        "own_contactor": flag(False),
        "contactor_a": asked(number("A", 1, 200), "Plate of the limiter's own contactor: AC-1.", _own_contactor),
        "contactor_poles": asked(number("poles", 1, 4), "Plate of the limiter's own contactor.", _own_contactor),
    },
    "transfer": {
        "fitted": flag(),
        "rated_a": number("A", 1, 200, None),
        "max_fuse_a": number("A", 1, 400, None),
        "poles": number("poles", 1, 12, None),
        "break_before_make": flag(False),
        "off_position": flag(False),
        "auxiliary_contact": flag(False),
    },
    "cooling_fan": {
        "in_oven": flag(),
        "runs_when_ours": asked(flag(), "Switch to OURS with the board unplugged: does the fan turn?", _fan_in_oven),
        "proved": asked(flag(), "Is there a contact that shows the board that it turns?", _fan_in_oven),
        "motor": asked(choice("ac", "dc", "electronic"), "The plate of the fan's motor.", _fan_in_oven),
        "changed_over": asked(flag(), "Does the transfer switch change over the fan's live end too, so that never two "
                              "feeds meet at it?", _fan_in_oven),
        "fed_by": asked(choice("mains_contact", "own_supply", "original_board"),
                        "Follow its wires: what feeds it while OURS is selected?", _fan_in_oven),
    },
    "hot_air_fan": {
        "fitted": asked(flag(), "Is there a fan in the cavity's rear wall?"),
        "in_ours": asked(choice("runs", "stands", "removed"), "What does it do while OURS heats?", _hot_air),
        "motor_max_c": asked(number("degC", 40, 400), "Insulation class of its motor: plate or data sheet.",
                             lambda sheet, entry: _hot_air(sheet, entry) and entry["in_ours"] != "removed"),
        "motor_seen_c": number("degC", 10, 300, None),
        "motor_seen_at_c": number("degC", 50, 550, None),
    },
}  # fmt: skip
MAY_BE_ABSENT = ("chain", "hot_air_fan")  # whole tables: everything in them is unknown then

LISTS = {  # arrays of tables: may be empty, each entry has these keys
    "extra_element": {
        "name": text(),
        "power_w": number("W", 50, 6000),
        "voltage_v": number("V", 100, 260),
        "in_ours": choice("top", "deck", "dead"),
    },
    "part": {
        "name": text(),
        "kind": choice("wire", "terminal", "gasket", "glass", "sleeve", "other"),
        "place": choice(*PLACES),
        "rated_c": number("degC", 40, 1400),
        "seen_c": number("degC", 10, 600, None),
        "seen_at_c": number("degC", 50, 550, None),
    },
    "survey": {
        "part": choice(*SURVEY_PARTS),
        "name": text(),
        "place": choice(*PLACES),
        "rated_c": number("degC", 40, 1400, None),
        "seen_c": number("degC", 10, 600, None),
        "seen_at_c": number("degC", 50, 550, None),
        "acts_in_ours": asked(flag(), "Follow its wires: does it still open the elements' circuit in OURS?", _acts),
        "acts_through": asked(
            choice("elements", "chain"),
            "What does it break in OURS: the elements' common conductor, or the coil's chain?",
            _in_ours,
        ),
        "opens_c": asked(number("degC", 30, 700), "Its print or the oven's service papers.", _opens),
        "job_done_by": text(None),
        "decision": choice("kept", "moved", "removed", "absent"),
        "by": text(None),
        "why": text(None),
    },
    "moved_wire": {
        "wire": text(),
        "from": text(),
        "to": text(),
        "by": text(None),
    },
}
TOP = {"name": text(), "date": asked(text(), "Date of this sheet.", grade="change")}
