"""Sheets whose flaw and grade were written down before they were tried: {name: (base, changes, highest new grade)}."""

from sixty_sheets import AMERICA_120, AMERICA_240, AUSTRALIA, BRITAIN, CUT, FRANCE, GERMANY, HALL, NORWAY, RING

GRADED = {
    "6 mm2 cord on 50 A": (
        BRITAIN,
        {
            "supply.breaker_a": 50,
            "cable.section_mm2": 10.0,
            "cord.section_mm2": 6.0,
            "contactor.rated_a": 63,
            "transfer.rated_a": 63,
        },
        "stop",
    ),
    "one-pole contactor, TN": (HALL, {"contactor.poles": 1}, "change"),
    "one-pole contactor, TT": (FRANCE, {"contactor.poles": 1}, "stop"),
    "limiter's contactor, signal only": (
        HALL,
        {
            "high_limit.own_contactor": True,
            "high_limit.contactor_a": 25,
            "high_limit.contactor_poles": 2,
            "high_limit.cuts": "relay_signal",
        },
        "stop",
    ),
    "3.6 kW on a Schuko": (GERMANY, {"elements.top.power_w": 1900, "elements.deck.power_w": 1700}, "stop"),
    "60 m of thin copper": (HALL, {"cord.length_m": 10.0, "cable.length_m": 40.0}, "change"),
    "run at 65 degrees": (HALL, {"cable.ambient_c": 65}, "stop"),
    "8 AWG cord on 50 A": (
        AMERICA_240,
        {
            "supply.breaker_a": 50,
            "supply.connection": "nema6_50",
            "cord.awg": 8,
            "cable.awg": 6,
            "cable.method": "raceway75",
            "contactor.rated_a": 63,
            "transfer.rated_a": 63,
        },
        "stop",
    ),
    "1.7 kW on 15 A": (AMERICA_120, {"supply.breaker_a": 15, "supply.connection": "nema5_15"}, "change"),
    "ceramic fibre of 1989": (HALL, {"oven.made_year": 1989, "oven.insulation": "ceramic_fibre"}, "stop"),
    "table-top, touching": (HALL, {"oven.mounting": "table_top", "oven.clearance_mm": 0}, "stop"),
    "hot-air motor measured hot": (
        HALL,
        {
            "hot_air_fan": {
                "fitted": True,
                "in_ours": "runs",
                "motor_max_c": 180,
                "motor_seen_c": 120,
                "motor_seen_at_c": 250,
            }
        },
        "stop",
    ),
    "an element for 120 V": (
        BRITAIN,
        {"extra_element": [{"name": "x", "power_w": 300, "voltage_v": 120, "in_ours": "top"}], "transfer.poles": 3},
        "stop",
    ),
    "5.3 kW on 16 A, by ohms": (HALL, {"elements.top": {"ohms": 20}, "elements.deck": {"ohms": 20}}, "stop"),
    "bare 10 A relay": (HALL, {"relays.top.rated_a": 10, "relays.top.fuse_a": CUT}, "stop"),
    "32 A fuse before a 25 A relay": (BRITAIN, {"relays.top.fuse_a": 32}, "stop"),
    "glass below the limiter": (HALL, {"high_limit.setting_c": 470, "part.3.rated_c": 460}, "stop"),
    "sheath for 450": (HALL, {"thermocouple.sheath_max_c": 450}, "stop"),
    "insurer said no": (HALL, {"premises.insurer_consents": False}, "stop"),
    "IT called a neutral": (NORWAY, {"transfer.poles": 2, "supply.conductors": "line_neutral"}, "stop"),
    "chain's supply not looked at": (HALL, {"chain.separated": "unknown"}, "stop"),
    "chain at mains, made for it": (HALL, {"chain.kind": "mains", "chain.driver_rated_v": 300}, "change"),
    "fan's feed not followed": (HALL, {"cooling_fan.changed_over": "unknown"}, "stop"),
    "TT without an RCD": (FRANCE, {"supply.residual_ma": 0}, "stop"),
    "60 W at 250": (HALL, {"oven.held_w": 60, "oven.held_at_c": 250}, "change"),
    "window of 1 s": (HALL, {"control.window_s": 1}, "change"),
    "10 A switch": (HALL, {"transfer.rated_a": 10}, "stop"),
    "ring for a blue plug": (RING, {"supply.connection": "iec60309_16"}, "stop"),
    "cut-out 1 K from its place": (HALL, {"survey.1.opens_c": 104}, "change"),
    "cut-out gone, nobody says why": (HALL, {"survey.1.decision": "removed"}, "stop"),
    "20 V relay in 24 V a.c.": (HALL, {"chain.kind": "selv_24ac", "chain.driver_rated_v": 20}, "stop"),
    "30 mA at 120 V under NEC": (AMERICA_120, {"supply.residual_ma": 30}, "change"),
    "loop for 16 A behind 20 A": (
        HALL,
        {"supply.breaker_a": 20, "supply.loop_ohm": 1.6, "cord.section_mm2": 2.5, "supply.connection": "fixed"},
        "stop",
    ),
    "16 A limiter's contactor on 20 A": (
        AUSTRALIA,
        {"high_limit.own_contactor": True, "high_limit.contactor_a": 16, "high_limit.contactor_poles": 2},
        "stop",
    ),
    "cord laid as the run": (HALL, {"cable.method": "cord", "cable.section_mm2": 1.5}, "stop"),
    "type T at 450": (HALL, {"thermocouple.type": "T"}, "stop"),
    "no date": (HALL, {"date": "unknown"}, "change"),
}
