"""The village hall's answers, as they would stand in an answers file."""

import copy

ANSWERS = {
    "by": {"name": "M. Baker, hall kitchen", "initials": "MB", "stays": True},
    "papers": {
        "plate": "single oven, 230 V, 2.9 kW",
        "rated_w": 2900,
        "cutouts": "fan thermostat at the back, cut-out 170 °C on the electronics",
        "bridged": "none",
        "may": "yes",
        "limiter": "yes",
        "cutouts_act": "yes",
        "contacts": "yes",
        "plan": "yes",
    },
    "electrical": {
        "name": "E. Lector",
        "initials": "EL",
        "licence": "E. Lector, licence 4711",
        "instrument": "installation tester, calibrated 2026-01",
        "earth_ohm": 0.06,
        "insulation_mohm": 12.5,
        "rcd_ma": 22,
        "rcd_ms": 28,
    },
    "dead": {"pulldown_top_kohm": 9.8, "pulldown_deck_kohm": 9.9},
    "lamp": {"top_is_top": "yes", "deck_is_deck": "yes"},
    "transfer": {"no_jump": "yes", "fan_dead_board": "yes"},
    "cutoff": {"heard": "yes"},
    "first-heat": {"smoke_gone": "yes", "plug_c": 31},
    "identify": {"how": "defaults"},
    "limiter": {"dial_c": 110, "working_c": 520},
    "full-heat": {"plug_c": 38, "wall_c": 52},
}


def answers(**changes):
    """A copy with `step={"entry": value}` changes; a value of None takes the entry away."""
    made = copy.deepcopy(ANSWERS)
    for step, values in changes.items():
        table = made[step.replace("_", "-")]
        for name, value in values.items():
            if value is None:
                del table[name]
            else:
                table[name] = value
    return made


def pause(practice):
    """What a person does between two evenings: nothing under way, board idle."""
    practice.made.bench.ready()
