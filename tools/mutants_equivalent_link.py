"""Mutants that no test can tell from the original, as in tools/mutants_equivalent.py: the words of the link."""

ORDER = "both refuse, whichever is asked first"

LINK = {
    "link/oven_commands": {
        "counters": ("ec6a25e1", {
            "0 in words[0] -> -1": "there is one word",
            "0 in words[0] -> -1 #2": "there is one word",
            "0 in words[0] -> -1 #3": "there is one word",
            "0 in words[0] -> -1 #4": "there is one word",
        }),
    },
    "link/stone_commands": {
        "pace": ("4aa55a74", {
            "cycle_s < 0 -> cycle_s <= 0": "no bread goes in and out in no time: a forecast is a whole bake at least",
        }),
        "spot": ("46656711", {
            "0 in words[0] -> -1": "there is one word",
            "if value_c is None or not -20.0 < value_c < 650.0: -> after if app.sequence.stage == S.BAKE:": ORDER,
        }),
    },
    "link/frames": {
        "Link.send": ("6bf27706", {
            "min(len(data), self._sent + PIECE) -> min(self._sent + PIECE, len(data))": (
                "the smaller of two, in any order"
            ),
        }),
        "Link.is_sending": ("6f5f64e9", {
            "0 in len(self._reply) > 0 -> 1": "no reply has one byte",
        }),
        "Link.__init__": ("a8837c54", {
            "0 in self._refused = 0 -> 1": "reply() begins both at nought; before it nothing is sent or dropped",
            "0 in self._refused = 0 -> -1": "reply() begins both at nought; before it nothing is sent or dropped",
            "0 in self._sent = 0 -> 1": "reply() begins both at nought; before it nothing is sent or dropped",
        }),
        "UsbStreams.write": ("ab001f84", {
            "0 in one[0] -> -1": "the only byte there is",
        }),
        "UsbStreams.read1": ("a61192ce", {
            "0 in self._byte[0] -> -1": "the only byte there is",
        }),
        "crc16": ("3e8055d0", {
            "65535 in crc << 8 & 65535 -> 65534": "the lowest eight bits are nought there",
        }),
    },
    "link/plan_commands": {
        "_take_plan": ("65f90282", {
            "B.plan_fault(made) or too_hot(app, made) -> too_hot(app, made)": "each part was checked when it came",
            "in_force.use(app, made) -> after if other:": (
                "neither asks what the other does, and no tick comes between them"
            ),
        }),
        "module": ("d4642bc2", {
            "60 if row[0] == 'dome_c' else row[1] -> row[1]": "any leg that is one serves to check name and end by",
            "60 in 60 if row[0] == 'dome_c' else row[1] -> 61": "any leg that is one serves to check name and end by",
            "60 in 60 if row[0] == 'dome_c' else row[1] -> 59": "any leg that is one serves to check name and end by",
            "0 in row[0] -> 1": "any leg that is one serves to check name and end by",
            "0 in row[0] -> -1": "any leg that is one serves to check name and end by",
        }),
        "plan": ("fd8d14c1", {
            "1000 in seq.cool_mc // 1000 -> 999": "of whole degrees below 999 both make the same",
            "if act == 'none' and len(words) == 1: -> after try:": (
                "nothing follows that word, and nothing is a row of numbers"
            ),
            "if act == 'begin' and len(values) == 2: -> after if act == 'leg' and in_force.incoming is not None "
            "and (len(values) > 1):": "an act is one word",
            "if act == 'leg' and in_force.incoming is not None and (len(values) > 1): -> after if act == 'end' "
            "and (not values):": "an act is one word",
            "in_force.use(app, None) -> after app.evening.forget_interrupted()": (
                "neither asks what the other does, and no tick comes between them"
            ),
        }),
    },
    "link/bread_commands": {
        "bread": ("a4b02272", {
            "0 in words[0] -> -1": "there is one word",
            "0 in words[0] -> -1 #2": "there is one word",
        }),
        "verdict": ("cdb1432e", {
            "if len(words) not in (2, 3) or not (words[0] in R.WORDS[1:] and words[1] in R.WORDS[1:]): -> after "
            "if len(words) == 3 and (not words[2].isdigit()):": ORDER,
        }),
    },
    "link/commands": {
        "log": ("1b628c5d", {
            "0 in words[0] -> -1": "there is one word",
            "0 in words[0] -> -1 #2": "there is one word",
        }),
        "handover_state": ("baabbb2d", {
            "1000 in below_mc // 1000 -> 999": "of whole degrees below 999 both make the same",
            "min(app.sequence.cool_mc, _HANDOVER_MC) -> min(_HANDOVER_MC, app.sequence.cool_mc)": (
                "the smaller of two, in any order"
            ),
        }),
        "setpoint": ("665b4a11", {
            "1000 in ceiling_mc // 1000 -> 999": "of whole degrees below 999 both make the same",
            "1000 in L.SETPOINT_MIN_MC // 1000 -> 999": "of whole degrees below 999 both make the same",
            "0 in words[0] -> -1": "there is one word",
        }),
        "answer": ("7761eac1", {
            "if command is not None: -> after if words[0] in _ON_DEMAND:": "no word is in both",
        }),
    },
}  # fmt: skip
