"""`tizzone calibrate --live`: the board reads ice and boiling water itself, and takes its correction after a yes."""

from __future__ import annotations

import argparse
from typing import Any

from host.calibration.fixed_points import ICE_C, boiling_c, pressure_hpa
from host.talk import Refused, asked, settings, water
from tools import ToolError, onboard

ICE = "melting ice, crushed, stirred, the tip in the middle"
BOIL = "a rolling boil, the tip off the bottom, hands out of the steam, the probe's head dry"


def pressure(options: argparse.Namespace) -> float:
    """Station pressure of the day, hPa, given or by altitude; asked for where neither was said."""
    if options.pressure_hpa is None and options.altitude_m is None:
        if options.yes:
            raise ToolError("boiling water needs --pressure-hpa or --altitude-m")
        text = onboard.question("Station pressure today in hPa, or altitude such as '540 m': ")
        try:
            if text.endswith("m"):
                options.altitude_m = float(text[:-1])
            else:
                options.pressure_hpa = float(text)
        except ValueError:
            raise ToolError(f"'{text}' is neither a pressure in hPa nor an altitude such as '540 m'") from None
    return options.pressure_hpa if options.pressure_hpa is not None else pressure_hpa(options.altitude_m)


def read(client: Any, options: argparse.Namespace) -> None:
    """Fill in `options.ice` and `options.boil` with what the board read, its correction taken out."""
    tell = onboard.teller(options)
    boil_c = boiling_c(pressure(options))
    curve = water.stored_curve(client, options.probe)
    if curve:
        tell("the board corrects this probe already; taken out of the readings (in force since its last reset)")
    for name, words, true_c in (("ice", ICE, ICE_C), ("boil", BOIL, boil_c)):
        text = (
            "" if options.yes else onboard.question(f"{options.probe} probe into {words}; Enter when there, or skip: ")
        )
        if text.lower() == "skip":
            continue
        readings_c = water.still(client, options.probe, water.Place(words.partition(",")[0], true_c), tell)
        tell(f"  stands still: {sum(readings_c) / len(readings_c):.2f} °C over {len(readings_c)} readings")
        setattr(options, name, water.uncorrected(curve, readings_c))
    if options.ice is None and options.boil is None:
        raise Refused("both points were skipped: nothing to calibrate with")


def to_board(client: Any, options: argparse.Namespace, points: list[list[int]]) -> bool:
    """Send the curve after a yes; whether it was sent. The board stores it only while idle."""
    line = settings.correction_lines({options.probe: points})[0]
    trip = water.tripped(client)
    first = (
        f"The board has tripped ({trip}), as it must when a tip moves between baths. Acknowledge it and w"
        if trip
        else "W"
    )
    if not onboard.confirmed(f"{first}rite this correction to the board ({line})?", options.yes):
        return False
    if trip:
        water.acknowledge(client)
    said = asked(client, line)
    onboard.teller(options)(f"the board: {said}; press its reset, then look at a reading you know")
    return True
