"""A bake plan as the board keeps it: a name, an end temperature and up to eight legs of whole numbers.

The laptop checks a plan file and sends it in a few lines; the board checks every number again and keeps the plan in
its store, so that it is still known after a power cut. A plan asks for heat, it never permits it. Loaded where a plan
is checked, and let go: no tick needs it.
"""

from micropython import const

from tizzone.evening.leg import BASE_KJ, DOME, OLD_FIELDS, REST, STONE

MAX_LEGS = const(8)
_NAME_MAX = const(24)
END_MIN_C = const(40)
END_MAX_C = const(260)  # below what the oven's own thermostat is made for

# Fields of a leg, in the order of the link. name, lowest, highest
FIELDS = (
    ("dome_c", 30, 530),  # dome setpoint, degrees Celsius
    ("ramp_k_h", 0, 2000),  # rise of the setpoint, kelvin an hour; 0 = as fast as the oven goes
    ("soak_min", 0, 480),  # least time at the setpoint, minutes
    ("stone_c", 0, 540),  # stone surface wanted, degrees Celsius; 0 = not judged
    ("wait_min", 0, 240),  # longest wait for the stone after the soak, minutes; 0 = no end
    ("share_pct", 20, 80),  # share of the top zone, per cent
    ("breads", 0, 100),  # breads; 0 = this leg bakes nothing
    ("bake_s", 10, 3600),  # one bread, seconds
    ("sag_k", 0, 100),  # the next bread may go in with the stone this far below stone_c, kelvin
    ("recover_s", 0, 3600),  # longest recovery, seconds; 0 = no end
    ("lift_pct", 0, 30),  # added to the top share before and while a bread bakes, points
    ("lift_s", 0, 300),  # how long before the load the lift begins, seconds
    ("rest_c", 0, 530),  # dome while guests are awaited, degrees Celsius; 0 = no rest
    ("base_kj", 0, 9000),  # heat wanted in a bread's base, kJ/m2: the time follows it; 0 = bake_s as it is
    ("stretch_pct", 0, 30),  # the next bread may go in when it would need so much longer than bake_s, per cent
    ("bread_g_dm2", 0, 150),  # what a bread weighs, grams a square decimetre; 0 = 44, 380 g over 33 cm
)


def name_fault(name):
    """None if a plan may be called so."""
    plain = isinstance(name, str) and 0 < len(name) <= _NAME_MAX
    if plain:
        for letter in name:
            plain = plain and letter in "abcdefghijklmnopqrstuvwxyz0123456789-"
    return None if plain else "a name has 1 to 24 of a-z, 0-9 and -"


def leg_fault(leg):
    """None if `leg` (13 or 16 whole numbers in the order of FIELDS) is a leg, else one line."""
    if not isinstance(leg, (list, tuple)) or len(leg) not in (OLD_FIELDS, len(FIELDS)):
        return "a leg has {} or {} whole numbers".format(OLD_FIELDS, len(FIELDS))
    for i in range(len(leg)):
        name, low, high = FIELDS[i]
        if isinstance(leg[i], bool) or not isinstance(leg[i], int):
            return name + " must be a whole number"
        if not low <= leg[i] <= high:
            return "{} must lie within {}..{}".format(name, low, high)
    if leg[REST] and leg[REST] > leg[DOME]:
        return "rest_c must not be above dome_c"
    if 0 < leg[STONE] < 60:
        return "stone_c must be 0 or at least 60"
    if len(leg) > OLD_FIELDS and leg[BASE_KJ] and not leg[STONE]:
        return "base_kj needs stone_c"
    return None


def plan_fault(plan):
    """None if `plan` ({"name", "end_c", "legs"}) is one, else one line."""
    if not isinstance(plan, dict):
        return "not a plan"
    fault = name_fault(plan.get("name"))
    if fault:
        return fault
    end_c = plan.get("end_c")
    if isinstance(end_c, bool) or not isinstance(end_c, int) or not END_MIN_C <= end_c <= END_MAX_C:
        return "end_c must lie within {}..{}".format(END_MIN_C, END_MAX_C)
    legs = plan.get("legs")
    if not isinstance(legs, list) or not 1 <= len(legs) <= MAX_LEGS:
        return "a plan has 1 to {} legs".format(MAX_LEGS)
    for i in range(len(legs)):
        fault = leg_fault(legs[i])
        if fault:
            return "leg {}: {}".format(i + 1, fault)
    return None
