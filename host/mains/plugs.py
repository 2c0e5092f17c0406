"""Plugs and sockets: what they carry at all, and what for hours."""

from dataclasses import dataclass

from host.mains.value import COMPUTED, MEMORY, ONCE, TWICE, Value


@dataclass(frozen=True)
class Plug:
    """`rated` and `hours` in A (hours: load of several hours), `volts` the systems it is for."""

    text: str
    rated: Value
    hours: Value
    volts: tuple
    fused: bool = False
    polarised: bool = True
    breaker_max_a: float = 0  # largest breaker before it where that is not its own rating
    breaker_source: str = ""
    rules: tuple = ("iec",)  # whose installations have it

    @property
    def breaker_max(self) -> Value:
        """Largest breaker that may stand before this socket, a Value in A."""
        number = self.breaker_max_a or self.rated.number
        return Value(number, "A", MEMORY if self.breaker_max_a else self.rated.mark,
                     self.breaker_source or f"{self.rated.source}: not more than its rating")  # fmt: skip


def _amps(number, mark, source):
    return Value(number, "A", mark, source)


def _nema(name, amps, mark, volts, text, breaker_max_a=0):
    """NEMA plug: 80 % of its rating for three hours and more."""
    rated = _amps(amps, mark, f"NEMA {name}")
    hours = _amps(0.8 * amps, mark, f"NEMA {name}, 80 % rule of NEC 210.23")
    source = "NEC 210.21(B)(3) (from memory)"
    return Plug(text, rated, hours, volts, breaker_max_a=breaker_max_a, breaker_source=source if breaker_max_a else "",
                rules=("nec",))  # fmt: skip


def _plain(name, amps, mark, volts, text, hours=None, **more):
    rated = _amps(amps, mark, name)
    return Plug(text, rated, hours or rated, volts, **more)


_V230 = (220, 230, 240)  # V; house: the same plugs at 220, 230 and 240 V
_HOURS_10 = _amps(10, MEMORY, "makers' practice for hours of load on domestic 16 A plugs")
_AU = {"breaker_max_a": 20, "breaker_source": "AS/NZS 3000: 10 A outlets on circuits up to 20 A (from memory)"}
PLUGS = {
    "schuko": _plain("CEE 7/4", 16, ONCE, _V230, "earthed domestic plug CEE 7/4 or 7/7", _HOURS_10, polarised=False),
    "cee7_5": _plain("CEE 7/5", 16, MEMORY, _V230, "earthed domestic plug CEE 7/5", _HOURS_10),
    "cei23_50": _plain("CEI 23-50 S17", 16, MEMORY, _V230, "Italian 16 A plug CEI 23-50", _HOURS_10, polarised=False),
    "bs1363": _plain("BS 1363", 13, ONCE, _V230, "fused 13 A plug BS 1363", fused=True, breaker_max_a=32,
                     breaker_source="BS 7671: rings and radials of fused plugs up to 32 A (from memory)"),
    "as3112": _plain("AS/NZS 3112", 10, ONCE, _V230, "10 A plug AS/NZS 3112", **_AU),
    "as3112_15": _plain("AS/NZS 3112, 15 A", 15, MEMORY, _V230, "15 A plug AS/NZS 3112", breaker_max_a=20,
                        breaker_source="AS/NZS 3000 (from memory)"),
    "as3112_20": _plain("AS/NZS 3112, 20 A", 20, MEMORY, _V230, "20 A plug AS/NZS 3112"),
    "iec60309_16": _plain("IEC 60309 blue 16 A", 16, MEMORY, _V230, "IEC 60309 blue 2P+E 16 A"),
    "iec60309_32": _plain("IEC 60309 blue 32 A", 32, MEMORY, _V230, "IEC 60309 blue 2P+E 32 A"),
    "nema5_15": _nema("5-15", 15, TWICE, (120,), "NEMA 5-15 15 A 125 V", 20),
    "nema5_20": _nema("5-20", 20, TWICE, (120,), "NEMA 5-20 20 A 125 V"),
    "nema6_20": _nema("6-20", 20, ONCE, (208, 240), "NEMA 6-20 20 A 250 V"),
    "nema6_30": _nema("6-30", 30, MEMORY, (208, 240), "NEMA 6-30 30 A 250 V"),
    "nema6_50": _nema("6-50", 50, MEMORY, (208, 240), "NEMA 6-50 50 A 250 V"),
    # 120 V is there between a live and neutral, but a 120 V load belongs behind 20 A (NEC 210.23, from memory).
    "nema14_30": _nema("14-30", 30, ONCE, (208, 240), "NEMA 14-30 30 A 125/250 V"),
    "nema14_50": _nema("14-50", 50, ONCE, (208, 240), "NEMA 14-50 50 A 125/250 V"),
    "fixed": Plug(
        "fixed connection with isolator", _amps(63, COMPUTED, "no plug: the isolator's plate"),
        _amps(63, COMPUTED, "no plug: the isolator's plate"), (120, 208, *_V230), rules=("iec", "nec"),
    ),
}  # fmt: skip


def better(load_a: float, voltage_v: float, rules: str, present: str | None = None, behind_a: float = 0) -> str:
    """Name of the smallest connection that carries `load_a` for hours at `voltage_v`, behind a breaker of `behind_a` A.

    `present`, the one there is, stays where it is enough.
    """

    def suits(plug):
        return (
            voltage_v in plug.volts
            and rules in plug.rules
            and plug.hours.number >= load_a
            and plug.breaker_max.number >= behind_a
        )

    if present is not None and suits(PLUGS[present]):
        return present
    # Another country's domestic plug is no remedy: the industrial one is.
    # In Australia and New Zealand the same family has 15 and 20 A.
    family = "nema" if rules == "nec" else "as3112" if str(present).startswith("as3112") else "iec60309"
    wanted = [n for n in PLUGS if n.startswith(family)]
    fitting = [(PLUGS[name].hours.number, name) for name in wanted if suits(PLUGS[name])]
    return min(fitting)[1] if fitting else "fixed"
