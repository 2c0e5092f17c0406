"""What a user may set: one table with default, bounds and unit. Anything out of bounds is refused by name,
never clipped."""

# name: (default, lowest, highest, unit or meaning). int defaults take ints, float defaults take both.
TABLE = {
    "setpoint_c": (450, 30, 530, "dome setpoint, degrees Celsius"),
    "high_limit_c": (500, 30, 550, "high limit of the dome, degrees Celsius"),
    "restart_c": (250, 30, 300, "a trip is acknowledged below this, degrees Celsius"),
    "attend_c": (120, 30, 120, "from this on somebody confirms presence, degrees Celsius"),
    "attend_min": (15, 1, 30, "minutes between confirmations"),
    "session_max_min": (300, 1, 480, "longest evening, minutes"),
    "window_ms": (20_000, 2_000, 120_000, "output window, ms"),
    "min_switch_ms": (500, 250, 30_000, "shortest on or off time of a relay, ms"),
    "exclusive": (0, 0, 1, "1 = the circuit cannot carry both zones at once"),
    "top_share_pct": (50, 20, 80, "share of the top zone, per cent; 50 = both alike"),
    "soak_min": (15, 0, 240, "soak at the setpoint before the first bread, minutes"),
    "bake_s": (90, 10, 3600, "one bread, seconds"),
    "breads": (0, 0, 500, "breads of the evening; 0 = until stopped"),
    "cool_c": (250, 40, 300, "stopping ends below this, degrees Celsius"),
    "fahrenheit": (0, 0, 1, "1 = the display says degrees Fahrenheit; all settings stay in Celsius"),
    "mains_hz": (50, 50, 60, "mains frequency, hertz"),
    "learned_rise_s": (0, 0, 7200, "learned time from 100 to 200 degrees Celsius, seconds; 0 = not yet"),
    "kc_pct_per_k": (5.0, 0.05, 50.0, "controller gain, per cent per kelvin"),
    "ti_s": (260.0, 10.0, 7200.0, "integral time, seconds"),
    "td_s": (25.0, 0.0, 600.0, "derivative time, seconds"),
    "lead_s": (20.0, 0.0, 600.0, "prediction at the end of the approach, seconds"),
    "hold_pct": (34.0, 1.0, 100.0, "expected output that holds 450 degrees Celsius, per cent"),
    "rise_k_s_pct": (0.0032, 0.001, 0.02, "what one per cent of output adds to the rate, kelvin per second"),
    "calibration": ({}, None, None, "per probe: up to 7 points [reading_mc, correction_mc]"),
    "calibration_record": ({}, None, None, "date and probe of the calibration"),
}

TUNED = ("kc_pct_per_k", "ti_s", "td_s", "lead_s", "rise_k_s_pct")  # what learning an oven changes


def is_default(values, names):
    """True if none of these settings was ever changed."""
    return all([values[name] == TABLE[name][0] for name in names])


def defaults():
    """A fresh dict of all defaults."""
    values = {}
    for name in TABLE:
        default = TABLE[name][0]
        values[name] = {} if isinstance(default, dict) else default
    return values


def safe():
    """What is in force where the stored settings cannot be relied on: the defaults, and never both zones at once."""
    values = defaults()
    values["exclusive"] = 1
    return values


def fault_of(name, value):
    """None if `value` may be stored under `name`, else one line that says what is allowed."""
    if name not in TABLE:
        return "setting " + str(name) + " is not known"
    default, low, high, _ = TABLE[name]
    if isinstance(default, dict):
        return None if isinstance(value, dict) else "setting " + name + " must be a table"
    kinds = (int, float) if isinstance(default, float) else (int,)
    if isinstance(value, bool) or not isinstance(value, kinds):
        return "setting " + name + " must be a number"
    if not low <= value <= high:  # also refuses NaN, which compares false
        return "setting {} must lie within {}..{}".format(name, low, high)
    return None


def taken_over(stored):
    """(values, faults): the defaults with every good stored value on top; faults names the bad ones."""
    values = defaults()
    faults = []
    if not isinstance(stored, dict):
        return safe(), ["settings are not a table"]
    for name in stored:
        fault = fault_of(name, stored[name])
        if fault:
            faults.append(fault)
        else:
            values[name] = stored[name]
    if faults and fault_of("exclusive", stored.get("exclusive")):
        values["exclusive"] = 1  # whatever is wrong in there: never more than the circuit may carry
    return values, faults


def parsed(name, text):
    """(value, None) from a typed text, or (None, fault)."""
    if name not in TABLE:
        return None, "setting " + name + " is not known"
    default = TABLE[name][0]
    if isinstance(default, dict):
        return None, "setting " + name + " is not set by hand"
    try:
        value = float(text) if isinstance(default, float) else int(text)
    except ValueError:
        return None, "setting " + name + " must be a number"
    return value, fault_of(name, value)
