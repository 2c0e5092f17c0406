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


def _amps(number, mark, source):
    return Value(number, "A", mark, source)


def _nema(name, amps, mark, volts, text):
    """NEMA plug: 80 % of its rating for three hours and more."""
    rated = _amps(amps, mark, f"NEMA {name}")
    hours = _amps(0.8 * amps, mark, f"NEMA {name}, 80 % rule of NEC 210.23")
    return Plug(text, rated, hours, volts)


def _plain(name, amps, mark, volts, text, hours=None, fused=False):
    rated = _amps(amps, mark, name)
    return Plug(text, rated, hours or rated, volts, fused)


_V230 = (220, 230, 240)
PLUGS = {
    "schuko": _plain(
        "CEE 7/4", 16, ONCE, _V230, "earthed domestic plug CEE 7/4 or 7/7",
        _amps(10, MEMORY, "CEE 7/4, makers' practice for hours of load"),
    ),
    "bs1363": _plain("BS 1363", 13, ONCE, _V230, "fused 13 A plug BS 1363", fused=True),
    "as3112": _plain("AS/NZS 3112", 10, ONCE, _V230, "10 A plug AS/NZS 3112"),
    "iec60309_16": _plain("IEC 60309 blue 16 A", 16, MEMORY, _V230, "IEC 60309 blue 2P+E 16 A"),
    "iec60309_32": _plain("IEC 60309 blue 32 A", 32, MEMORY, _V230, "IEC 60309 blue 2P+E 32 A"),
    "nema5_15": _nema("5-15", 15, TWICE, (120,), "NEMA 5-15 15 A 125 V"),
    "nema5_20": _nema("5-20", 20, TWICE, (120,), "NEMA 5-20 20 A 125 V"),
    "nema6_20": _nema("6-20", 20, ONCE, (208, 240), "NEMA 6-20 20 A 250 V"),
    "nema14_30": _nema("14-30", 30, ONCE, (120, 208, 240), "NEMA 14-30 30 A 125/250 V"),
    "nema14_50": _nema("14-50", 50, ONCE, (120, 208, 240), "NEMA 14-50 50 A 125/250 V"),
    "fixed": Plug(
        "fixed connection with isolator", _amps(63, COMPUTED, "no plug: the isolator's plate"),
        _amps(63, COMPUTED, "no plug: the isolator's plate"), (120, 208, *_V230),
    ),
}  # fmt: skip


def better(load_a, voltage_v, rules, present=None):
    """Name of the smallest connection that carries `load_a` for hours at `voltage_v`.

    `present`, the one there is, stays where it is enough.
    """
    if present is not None:
        plug = PLUGS[present]
        if voltage_v in plug.volts and plug.hours.number >= load_a:
            return present
    # Another country's domestic plug is no remedy: the industrial one is.
    wanted = [n for n in PLUGS if n.startswith("nema" if rules == "nec" else "iec60309")]
    fitting = [
        (PLUGS[name].hours.number, name)
        for name in wanted
        if voltage_v in PLUGS[name].volts and PLUGS[name].hours.number >= load_a
    ]
    return min(fitting)[1] if fitting else "fixed"
