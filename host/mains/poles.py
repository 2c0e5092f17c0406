"""Who cuts which conductor: what counts as live in TN, TT, IT and supplies of two lives, and how many poles that asks.

TN: the neutral is taken as earthed (IEC 60364-4-46, 461.2: it need not be isolated in TN-S; from memory), unless the
plug can be put in either way round. TT and IT: the neutral counts as a live conductor. Two lives: both are.
"""

from dataclasses import dataclass

from host.mains.plugs import PLUGS

TN_RULE = "IEC 60364-4-46 461.2, neutral in TN-S (from memory)"
LIVE_RULE = "IEC 60364-4-46: every live conductor is cut in TT and IT (from memory)"
TWO_LIVES_RULE = "two lives; NEC 424.20 and 240.15(B): a marked OFF opens every ungrounded conductor (from memory)"


@dataclass(frozen=True)
class Return:
    """The conductor that is not the first live: `is_live` surely, `may_be_live` perhaps; `words` and `rule` say why."""

    is_live: bool
    may_be_live: bool
    words: str
    rule: str


def conductors(sheet: dict) -> str:
    """ "line_neutral" or "line_line": 208 and 240 V under NEC are between lives, else as the sheet says."""
    supply = sheet["supply"]
    if supply["rules"] == "nec" and supply["voltage_v"] > 120:
        return "line_line"  # whatever the sheet says: see `said_wrong`
    return supply["conductors"] or "line_neutral"


def said_wrong(sheet: dict) -> bool:
    """True where the sheet calls one conductor of 208 or 240 V under NEC a neutral: there is none at that voltage."""
    return conductors(sheet) == "line_line" and sheet["supply"]["conductors"] == "line_neutral"


def to_earth_v(sheet: dict) -> float:
    """Voltage of a live conductor to earth, V: half of 240 V split phase, 1/sqrt(3) of other two-live supplies."""
    volts = sheet["supply"]["voltage_v"]
    if conductors(sheet) == "line_neutral":
        return float(volts)
    return volts / 2 if sheet["supply"]["rules"] == "nec" and volts == 240 else volts / 3**0.5


def returning(sheet: dict) -> Return:
    """What the elements' common end is connected to."""
    supply = sheet["supply"]
    if conductors(sheet) == "line_line":
        return Return(True, True, "the second live", TWO_LIVES_RULE)
    if supply["system"] == "it":
        return Return(True, True, "the neutral of an IT supply: at a fault it may have full voltage", LIVE_RULE)
    if supply["system"] == "tt":
        return Return(False, True, "the neutral of a TT supply counts as live", LIVE_RULE)
    if not PLUGS[supply["connection"]].polarised:
        return Return(False, True, "this plug goes in either way round: the return may be the live", TN_RULE)
    return Return(False, False, "the neutral of a TN supply, connection of fixed polarity", TN_RULE)


def elements(sheet: dict) -> int:
    """How many elements the transfer switch changes over (those dead in OURS too: it keeps them dead)."""
    return 2 + len(sheet["extra_element"])


def transfer_poles(sheet: dict) -> int:
    """Poles of the transfer switch: an element each, and one more where their common end may be live."""
    return elements(sheet) + (1 if returning(sheet).may_be_live else 0)


def breaker_words(sheet: dict) -> str:
    """How many poles the breaker needs, as the table of who cuts what has it."""
    return "2 poles" if returning(sheet).is_live else "1 pole, 2 where local code asks"


def _limiter_cuts(sheet):
    limit = sheet["high_limit"]
    own = limit["fitted"] and limit["own_contactor"]
    return "the coils of K4, its own, and K1: both cut both" if own else "the coil of K1, so what K1 cuts"


def who_cuts(sheet: dict) -> list[tuple[str, str, str]]:
    """[(device, conductors that it cuts, why)] as they have to be for this supply."""
    back, fixed = returning(sheet), sheet["supply"]["connection"] == "fixed"
    name = "both lives" if conductors(sheet) == "line_line" else "live and neutral"
    ends = f"{elements(sheet)} element ends"
    ends += " and their common end" if back.may_be_live else "; their common end stays on the neutral"
    return [
        ("Isolator" if fixed else "Plug", f"{name}, never the earth", "the one that makes dead for work"),
        ("RCD / GFCI", name, "it compares them; both are cut"),
        ("Breaker", "both, by one common trip" if back.is_live else "the live (both where local code asks)", back.rule),
        ("Transfer switch", f"{ends}: {transfer_poles(sheet)} poles", back.words),
        ("Contactor K1", name, "the element is dead whichever conductor failed"),
        ("Solid-state relays", "one conductor of one element each", "they control; they never make dead"),
        ("Oven's own cut-outs", "the elements' common conductor",
         "they end the heat and never make dead: " + ("that conductor is live or may be" if back.may_be_live
                                                      else "in the neutral alone they leave the elements live")),
        ("High limit", _limiter_cuts(sheet), "one that cuts the elements itself: contact and poles as K1"),
    ]  # fmt: skip
