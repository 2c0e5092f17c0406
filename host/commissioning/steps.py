"""The witness steps in words: caution, what to do, what a person enters with its bounds, what the board measures.

Names and order are the device's (device/tizzone/commissioning/release.py). Bounds of entered readings are common
limits, stated from memory where no source could be read; the local code and the licensed person decide.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from host.mains.device_rules import without_limiter_c

YES = "yes"


@dataclass(frozen=True)
class Field:
    """One thing a person enters. `kind`: "text", "yes" (only yes passes), "choice", "number" (low..high, inclusive).

    `after`: entered once the board has seen its part, not before."""

    name: str
    text: str
    kind: str = "text"
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    spans: tuple = ()  # of allowed values within low..high, where not all of it is
    choices: tuple = ()
    why: str = ""  # where the bound comes from, and what to do when it is not met
    after: bool = False


@dataclass(frozen=True)
class Step:
    """One witness step."""

    name: str
    title: str
    caution: str
    todo: tuple
    fields: tuple = field(default=())
    measures: str = ""  # what the board itself must have seen; empty: a person's word alone


def number(
    name: str, text: str, unit: str, low: float, high: float, why: str = "", after: bool = False, spans: tuple = ()
) -> Field:
    """A Field with bounds."""
    return Field(name, text, "number", unit, low, high, spans, why=why, after=after)


def yes(name: str, text: str, why: str = "", after: bool = False) -> Field:
    """A Field that only 'yes' passes."""
    return Field(name, text, YES, why=why, after=after)


PLUG = number(
    "plug_c",
    "hottest place of plug, cord and terminals",
    "°C",
    -10.0,
    60.0,
    "common practice, no source: a plug above 60 °C has a bad contact",
    True,
)
# A 30 mA device trips between half and all of it, a 10 mA one likewise, a class A GFCI at 4 to 6 mA.
RCD_SPANS = ((4.0, 10.0), (15.0, 30.0))
RCD_WHY = "half to all of 10 or 30 mA: IEC 61008-1; 4 to 6 mA: UL 943 class A; from memory; replace it"
RCD_TIME_WHY = "300 ms: IEC 61008-1, from memory; replace the RCD"
EARTH_WHY = "0.1 ohm: IEC 60335-1 27.5, from memory; clean and tighten the joints"
INSULATION_WHY = "1 Mohm at 500 V: IEC 60364-6, from memory; dry the elements or replace them"

STEPS = (
    Step(
        "papers",
        "Papers and survey of the oven's own protections",
        "Nothing is powered. Local codes come first; ask owner, insurer and landlord before the first screw.",
        (
            "Read the oven's rating plate. Find its own cut-outs and thermostats and write down where they are.",
            "None is bridged without being written down here, with the reason.",
            "Check that the independent high limit, with its own sensor, is in series with the contactor's coil.",
            "Tick off the list of `tizzone pins --table`: each contact at its own voltage, chain and board apart.",
        ),
        (
            Field("plate", "oven, as its rating plate says"),
            number("rated_w", "rated power of the elements", "W", 300, 7000, "plan the mains side anew if it differs"),
            Field("cutouts", "the oven's own cut-outs: where, and what they break"),
            Field("bridged", "protections bridged or moved, with the reason ('none' if none)"),
            yes("may", "owner, insurer and landlord agree"),
            yes("limiter", "independent high limit fitted, own sensor, in series with the contactor's coil"),
            yes(
                "cutouts_act",
                "each of the oven's own cut-outs acts in OURS too, or what does its job is named in the plan",
            ),
            yes(
                "contacts", "key, limiter and transfer switch: one contact for the coil's chain, another for the board"
            ),
            yes("plan", "the mains plan of this oven has been made and followed; no stop and no unknown is left in it"),
        ),
    ),
    Step(
        "electrical",
        "Earth, insulation and RCD, by a licensed person",
        "Mains work and these readings belong to a licensed electrician. New elements are damp: low insulation may "
        "need a slow drying at low heat by that person's judgement, never a lower limit.",
        (
            "Unplug. Measure earth continuity from the plug's earth pin to oven body, box and every touchable metal.",
            "Measure insulation at 500 V DC, elements to earth, at the elements' own terminals.",
            "Test the RCD or GFCI of the socket.",
        ),
        (
            Field("licence", "name and licence of the person who measured"),
            Field("instrument", "instrument, with its calibration date"),
            number("earth_ohm", "highest earth continuity reading", "ohm", 0.0, 0.1, EARTH_WHY),
            number("insulation_mohm", "insulation, elements to earth", "Mohm", 1.0, 100_000.0, INSULATION_WHY),
            number("rcd_ma", "RCD or GFCI trips at", "mA", 4.0, 30.0, RCD_WHY, spans=RCD_SPANS),
            number("rcd_ms", "its time at its rated current", "ms", 0.0, 300.0, RCD_TIME_WHY),
        ),
    ),  # fmt: skip
    Step(
        "dead",
        "Dead test: no mains",
        "Pull the plug and keep it in sight. The board runs from the laptop alone, through the USB isolator.",
        (
            "Box unpowered, board held in reset or unplugged: measure from each relay input to GND.",
            "Then, with the board running: warm the dome probe's tip with a hand until the tool says so, let go, then "
            "the stone probe's tip.",
        ),
        (
            number(
                "pulldown_top_kohm",
                "top relay input to GND",
                "kohm",
                0.5,
                12.0,
                "a pull-down of 10 kohm keeps the relay off while the board starts; fit one",
            ),
            number(
                "pulldown_deck_kohm",
                "deck relay input to GND",
                "kohm",
                0.5,
                12.0,
                "a pull-down of 10 kohm keeps the relay off while the board starts; fit one",
            ),
        ),
        "each probe rises by 3 K or more in its turn, heat pins low, contactor open, no current",
    ),  # fmt: skip
    Step(
        "lamp",
        "Lamp test: a lamp in place of each element",
        "Mains is live from here on. Lamps of 25 to 60 W in proper holders; the dome probe is taped to the top lamp's "
        "shade, the stone probe to the deck's. Nothing combustible near.",
        (
            "Pull the plug, connect a lamp where each element will be, plug in.",
            "The board heats to 60 °C. See that the lamp of each zone lights when the tool says so.",
        ),
        (
            yes("top_is_top", "the lamp in the top zone's place follows 'top'", "else swap the relay drives", True),
            yes("deck_is_deck", "the lamp in the deck zone's place follows 'deck'", "else swap the relay drives", True),
        ),
        "full current in each zone while its relay is on, the reading rises by 5 K or more",
    ),
    Step(
        "transfer",
        "Transfer switch, ENABLE and fan",
        "Contacts of the two controllers are never paralleled: the switch passes through OFF.",
        (
            "While the lamps are on: transfer switch to OFF, then back to OURS; then ENABLE open, then closed.",
            "Look at the cooling fan: it must turn with OURS selected, the board running or not.",
        ),
        (
            yes("no_jump", "the switch passes through OFF and breaks every pole that the plan asks for"),
            yes("fan_dead_board", "the fan turns with OURS selected and the board unplugged", "use its closed contact"),
        ),
        "each of the two contacts opens the contactor before the program could; the fan's contact follows the fan",
    ),
    Step(
        "cutoff",
        "Cutoff test",
        "The hard limit of the board is tried while heat flows. Stand by with the plug.",
        (
            "The lamps are on. The tool lowers the high limit below the present reading.",
            "Heat must stop in one tick (250 ms) and the contactor must fall: listen for it.",
        ),
        (yes("heard", "the contactor was heard falling and both lamps went dark", after=True),),
        "relays off in the first tick, trip latched, contactor open and current gone within 1 s",
    ),
    Step(
        "first-heat",
        "First heat to 120 °C, with smoke burn-off",
        "The first heat of the oven itself. New elements and oils smoke: windows open, extinguisher at hand, nobody "
        "leaves. Pull the plug, remove the lamps, connect the elements, probes in their places.",
        (
            "The board heats to 120 °C and holds it for ten minutes or more.",
            "Look for smoke, smell, hot cable and hot plug; stop if anything but oil smokes.",
        ),
        (
            yes("smoke_gone", "smoke and smell have gone", after=True),
            PLUG,
        ),
        "the reading reaches 115 °C and stays above 110 °C for ten minutes, without a trip",
    ),  # fmt: skip
    Step(
        "limiter",
        "Independent limiter test",
        "The limiter is the layer that does not trust the board. Without it wired, nothing above "
        f"{without_limiter_c()} °C is held.",
        (
            "The board heats to 120 °C. At 110 °C or more turn the limiter's dial slowly down until it opens.",
            "Where the limiter has a contactor of its own, see that both fall: the board senses ours alone.",
            "Note the dial, turn it back to its working point and reset it by hand.",
        ),
        (
            number("dial_c", "dial of the limiter at which it opened", "°C", 50.0, 180.0, after=True),
            number(
                "working_c",
                "working point of the limiter",
                "°C",
                200.0,
                550.0,
                "the compiled maximum of this controller is 550 °C",
                True,
            ),
        ),
        "the limiter opens the contactor before the program could, at 100 °C or more, and is closed again by hand",
    ),  # fmt: skip
    Step(
        "identify",
        "Learning the oven, at or below 250 °C",
        "The oven is hot. Stay with it.",
        (
            "Leave with Ctrl-C, let the oven cool, run 'tizzone learn' (40 minutes to 2 1/2 hours), keep its tuning, "
            "come back here; or keep the default tuning on purpose.",
            "The tuning in force is read from the board into the record.",
        ),
        (Field("how", "tuning: 'learned' or 'defaults'", "choice", choices=("learned", "defaults")),),
    ),
    Step(
        "full-heat",
        "450 °C",
        "The first full heat. Two people, extinguisher, free space, nobody leaves the oven until it is below 250 °C.",
        (
            "The board heats to 450 °C (or its highest setpoint) and holds it for a minute.",
            "Feel for heat at plug, cord, box and the walls beside the oven.",
        ),
        (
            PLUG,
            number(
                "wall_c",
                "hottest place of furniture and walls beside the oven",
                "°C",
                -10.0,
                85.0,
                "common practice, no source: wood above 85 °C for long chars in the end; give it air",
                True,
            ),
        ),
        "the reading stays at the setpoint - 5 K or above for a minute, without a trip",
    ),  # fmt: skip
)
DIAL_APART_K = 60.0  # dial against the board's reading: another sensor, another place; house
# How long a step takes, minutes: what the board waits for, and a person's hands: an estimate, not measured; house.
TAKES_MIN = {"papers": 20, "electrical": 45, "dead": 10, "lamp": 20, "transfer": 10, "cutoff": 10, "first-heat": 40,
             "identify": 5, "limiter": 30, "full-heat": 75}  # fmt: skip
