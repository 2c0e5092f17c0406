"""Temperatures that parts near the cavity are rated for, and what they will see.

What a place sees scales with the rise of the cavity over the room (steady heat through the same
walls). Without a measurement the share of a place is a guess from practice and marked so; a
temperature measured by the builder at a lower oven temperature replaces it.
"""

from host.mains.value import GIVEN, MEMORY, ONCE, Value, derived

PLACES = {  # share of the cavity's rise over the room
    "cavity": Value(1.0, "", GIVEN, "inside the cavity"),
    "wall": Value(0.6, "", MEMORY, "common practice, no source: in the insulation, hot end"),
    "terminal": Value(0.5, "", MEMORY, "common practice, no source: outside the rear wall"),
    "cabinet": Value(0.25, "", MEMORY, "common practice, no source: in the oven's own cabinet"),
    "outside": Value(0.1, "", MEMORY, "common practice, no source: outside the cabinet"),
}
SURVEY_PARTS = (
    "sensor", "cutout", "lamp", "glass", "gasket", "lock", "electronics", "fan", "thermostat",
)  # fmt: skip
SURVEY_NEEDED = ("sensor", "cutout", "lamp", "glass", "gasket", "lock", "electronics")

_EMSD = "insulation limits, a national wiring code of practice of 2009"
CLASSES = (  # what a wire may be made of, coolest first
    (Value(70, "degC", ONCE, _EMSD), "PVC"),
    (Value(90, "degC", ONCE, _EMSD), "cross-linked polyethylene"),
    (Value(150, "degC", ONCE, _EMSD), "150 degC rubber"),
    (Value(180, "degC", MEMORY, "silicone cable H05SS-F"), "silicone"),
    (Value(250, "degC", MEMORY, "PTFE or glass-braided silicone lead"), "PTFE"),
    (Value(450, "degC", MEMORY, "glass and mica lead, nickel conductor"), "glass and mica"),
    (Value(700, "degC", MEMORY, "ceramic beads on bare nickel"), "ceramic beads, nickel"),
)
THERMOCOUPLE_MAX_C = {  # class 2 range of IEC 60584-1
    "K": Value(1200, "degC", ONCE, "IEC 60584-1:2013 class 2"),
    "N": Value(1200, "degC", ONCE, "IEC 60584-1:2013 class 2"),
    "J": Value(750, "degC", ONCE, "IEC 60584-1:2013 class 2"),
    "T": Value(350, "degC", ONCE, "IEC 60584-1:2013 class 2"),
}


def expected_c(
    place: str, cavity_c: float, room_c: float, seen_c: float | None = None, seen_at_c: float | None = None
) -> Value:
    """Temperature of a part at `place`, degC, with the cavity at `cavity_c` for hours.

    With `seen_c` measured at a cavity of `seen_at_c` (both degC) that share is used instead.
    """
    if seen_c is not None and seen_at_c is not None and seen_at_c > room_c:
        share = max(0.0, (seen_c - room_c) / (seen_at_c - room_c))
        factor = Value(share, "", GIVEN, "measured by the builder, scaled with the cavity's rise")
    else:
        factor = PLACES[place]
    number = room_c + factor.number * (cavity_c - room_c)
    return derived(number, "degC", factor.source, factor)


def wire_class(needed_c: float) -> tuple[Value, str] | None:
    """(rating, material) of the coolest class that bears `needed_c` degC, or None."""
    return next(((v, text) for v, text in CLASSES if v.number >= needed_c), None)
