"""`tizzone calibrate`: correction of one probe from ice, boiling water, fixed points and a reference."""

from __future__ import annotations

import argparse
import datetime
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host.calibration import curve as calibration
from host.calibration import picture, uncertainty, view
from host.calibration.curve import CalibrationError
from host.calibration.fixed_points import FIXED_C
from host.files import kinds, settings_file
from host.files.writing import NotWritten
from host.shim.loader import world
from tools import ToolError, calibrate_live, onboard

if TYPE_CHECKING:
    from host.calibration.curve import Point


HELP = "correct a probe against ice, boiling water and a reference, with its uncertainty"
EXAMPLE = """examples:
  tizzone calibrate                                             guided, step by step
  tizzone calibrate --live --altitude-m 540                     the board reads ice and boiling water itself
  tizzone calibrate --ice 0.5 --boil 98.9 --pressure-hpa 1002   the two water points
  tizzone calibrate --ice 0.5 0.25 --boil 98.9 --altitude-m 540 --reference 250:247.4 \\
      --reference 400:396.1 --reference-uncertainty 2.2 --identity "K 3 mm, hall 1" --write
  tizzone calibrate --ice 1.5 --boil 100.4 --pressure-hpa 1002 --compare      has it drifted?

Readings are what the board shows with no correction in force (else say --corrected). Ice: crushed, a little
water, stirred, the tip in the middle, ten minutes. Boiling: a rolling boil, the tip off the bottom; keep the
head of the probe dry and hands out of the steam. Water points say little at 450 °C."""


# What a settings file may hold: the board's own table.
BOARDS_NAMES = frozenset(world().load("tizzone.memory.settings").TABLE)
NEXT = "tizzone commission"
NEXT_IF_NOT = "mend what is said, then the same line again"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    add = parser.add_argument
    add("--probe", choices=("dome", "stone"), default="dome", help="which probe (default: dome)")
    add("--ice", type=float, nargs="+", metavar="C", help="readings in melting ice")
    add("--boil", type=float, nargs="+", metavar="C", help="readings in boiling water")
    add("--pressure-hpa", type=float, metavar="HPA", help="station pressure of the day (not sea-level)")
    add("--altitude-m", type=float, metavar="M", help="altitude, if the pressure is not known")
    add("--reference", action="append", default=[], metavar="TRUE:READING", help="up to five, °C")
    add("--reference-uncertainty", type=float, default=None, metavar="K", help="of its certificate, k = 2")
    add("--fixed", action="append", default=[], metavar="NAME:READING", help=", ".join(FIXED_C))
    add("--chip", default="max31855", help="chip of the pin map (default: max31855)")
    add("--type", default="K", help="K N J T S, pt100 or pt1000 (default: K)")
    add("--probe-class", default=None, help="1 or 2; A or B for platinum (default: 2, B)")
    add("--identity", default="", metavar="TEXT", help="which probe this is: kept in the record")
    add("--date", default=None, metavar="YYYY-MM-DD", help="of the calibration (default: today)")
    add("--corrected", action="store_true", help="the readings were taken with the stored curve in force")
    add("--live", action="store_true", help="the board reads ice and boiling water itself")
    add("--port", metavar="P", help="the board's serial port; says --live (default: the one that is plugged in)")
    add("--yes", action="store_true", help="--live: no questions, and write to the board")
    add("--settings", default="settings.json", metavar="FILE", help="settings file (default: settings.json)")
    add("--write", action="store_true", help="put curve and record into the settings file")
    add("--compare", action="store_true", help="compare with the record only; 1 if it has drifted")
    add("--out", metavar="FOLDER", help="write calibration.svg and calibration.json there")
    add("--force", action="store_true", help="write over a file of another kind that is there already")
    add("--json", action="store_true", help="print the result as JSON")


def run(options: argparse.Namespace) -> int:
    """Make the curve; 0 done, 1 refused or drifted, ToolError for unusable input."""
    if not (options.live or options.port):
        return made(options)
    if options.corrected or options.ice or options.boil:
        raise ToolError("--live reads ice and boiling water itself: leave --ice, --boil and --corrected out")
    return onboard.answered("calibrate", options, lambda: live(options), prints=False)


def live(options: argparse.Namespace) -> int:
    """The same with the board's own readings; the correction goes to the board after a yes."""
    with onboard.board(options) as client:
        calibrate_live.read(client, options)
        return made(options, lambda points: calibrate_live.to_board(client, options, points))


def made(options: argparse.Namespace, to_board: Callable | None = None) -> int:
    """Curve, record and uncertainty of the readings in `options`; `to_board(points)` sends the curve."""
    try:
        settings = settings_file.read(options.settings, BOARDS_NAMES)
        grade, limits = grade_and_limits(options)
        date = checked_date(options.date)
        if options.ice is None and options.boil is None and not options.reference and not options.fixed:
            ask_all(options)
        points = points_of(options, settings)
        for point in points:
            step = uncertainty.Component.resolution("resolution at the point", limits["RESOLUTION_K"])
            point.components.append(step)
        changes = drift_of(points, settings, options)
    except (CalibrationError, settings_file.SettingsFileError) as error:
        raise ToolError(str(error)) from None
    result = {"probe": options.probe, "date": date, "changes": changes, "refused": None, "curve": None}
    try:
        result["curve"] = calibration.curve(points)
    except CalibrationError as error:
        result["refused"] = str(error)
    result["points"] = points
    result["at"] = [
        (t_c, *calibration.expanded_at(t_c, points, options.type, grade, limits)) for t_c in calibration.REPORT_AT_C
    ]
    result["band"] = [
        (t_c, calibration.expanded_at(t_c, points, options.type, grade, limits)[1]) for t_c in picture.BAND_AT_C
    ]
    result["water_only"] = calibration.water_only(points)
    result["drifted"] = any(abs(change) > spread for _, change, spread in changes or ())
    result["written"] = False
    if options.write and not options.compare and not result["refused"]:
        write(options, settings, result, grade)
    show(options, result)
    if to_board is not None and result["curve"] and not to_board(result["curve"]):
        print("not written to the board", file=sys.stderr)
    return 1 if result["refused"] or (options.compare and result["drifted"]) else 0


def grade_and_limits(options: argparse.Namespace) -> tuple[int | str, dict[str, Any]]:
    """The probe's class and its chip's limits, checked."""
    is_platinum = options.type in ("pt100", "pt1000")
    grade = options.probe_class or ("B" if is_platinum else "2")
    grade = int(grade) if grade in ("1", "2") else grade
    if is_platinum != (grade in uncertainty.RTD_CLASSES) or (
        not is_platinum and (options.type, grade) not in uncertainty.CLASSES
    ):
        raise CalibrationError(f"no class {grade} of type {options.type} (K N J T S: 1, 2; platinum: A, B)")
    limits = calibration.chip_limits(options.chip)
    if options.type not in limits["RANGE_C"]:
        raise CalibrationError(f"{options.chip} does not read type {options.type}")
    return grade, limits


def checked_date(text: str | None) -> str | None:
    """The date as text, today's if None."""
    try:
        return str(datetime.date.fromisoformat(text) if text else datetime.date.today())
    except ValueError:
        raise CalibrationError(f"date {text!r} is not YYYY-MM-DD") from None


def pair(text: str, what: str) -> tuple[str, float]:
    """("left", reading) of "left:reading"."""
    left, _, right = text.partition(":")
    try:
        return left.strip(), float(right)
    except ValueError:
        raise CalibrationError(f"{what} {text!r} is not of the form {what}:READING") from None


def points_of(options: argparse.Namespace, settings: dict[str, Any]) -> list[Point]:
    """All points of the command line."""
    stored = settings.get("calibration", {}).get(options.probe)
    if options.corrected and calibration.conditioning().calibration_fault(stored):
        raise CalibrationError(f"--corrected: no usable curve of {options.probe} in {options.settings}")

    def raw(readings):
        for value in readings:
            calibration.within("reading", value, (-50.0, 1000.0), "°C")
        return [calibration.uncorrected_c(stored, v) for v in readings] if options.corrected else readings

    points = []
    if options.ice:
        points.append(calibration.ice_point(raw(options.ice)))
    if options.boil:
        points.append(calibration.boiling_point(raw(options.boil), options.pressure_hpa, options.altitude_m))
    if len(options.reference) > 5:
        raise CalibrationError("at most five reference points")
    for text in options.reference:
        true_text, reading = pair(text, "TRUE")
        try:
            true_c = float(true_text)
        except ValueError:
            raise CalibrationError(f"reference {text!r} is not of the form TRUE:READING") from None
        if options.reference_uncertainty is None or not 0 < options.reference_uncertainty < 20:
            raise CalibrationError("a reference needs --reference-uncertainty K (its certificate, k = 2)")
        points.append(calibration.reference_point(true_c, raw([reading]), options.reference_uncertainty))
    for text in options.fixed:
        name, reading = pair(text, "NAME")
        points.append(calibration.fixed_point(name, raw([reading])))
    if not points:
        raise CalibrationError("no readings")
    return points


def drift_of(
    points: list[Point], settings: dict[str, Any], options: argparse.Namespace
) -> list[tuple[str, float, float]] | None:
    """Changes against the record, or None without one; CalibrationError if --compare has none."""
    record = settings.get("calibration_record", {}).get(options.probe)
    try:
        if record is not None:
            return calibration.drift(points, record)
    except (KeyError, TypeError, ValueError, AttributeError):
        raise CalibrationError(f"{options.settings}: the record of {options.probe} is damaged") from None
    if options.compare:
        raise CalibrationError(f"{options.settings} has no record of {options.probe} to compare with")
    return None


def write(options: argparse.Namespace, settings: dict[str, Any], result: dict[str, Any], grade: int | str) -> None:
    """Put the curve and its record into the settings file."""
    u_450_k = dict((t_c, u_k) for t_c, _, u_k in result["at"])[450]
    record = calibration.record(
        result["points"], result["date"], options.identity, options.chip, options.type, grade, u_450_k
    )
    settings.setdefault("calibration", {})[options.probe] = result["curve"]
    settings.setdefault("calibration_record", {})[options.probe] = record
    try:
        settings_file.write(options.settings, settings, force=True)  # read and continued
    except settings_file.SettingsFileError as error:
        raise ToolError(str(error)) from None
    result["written"] = True


def show(options: argparse.Namespace, result: dict[str, Any]) -> None:
    """Print the result and write its files."""
    data = view.as_data(result)
    if options.out:
        folder = Path(options.out)
        try:
            text = json.dumps(data, indent=2) + "\n"
            kinds.write(folder / "calibration.json", text, kinds.CALIBRATION, options.force, makes_folder=True)
            drawn = picture.draw(result)
            if drawn:
                kinds.write(folder / "calibration.svg", drawn, kinds.CALIBRATION_PICTURE, options.force)
        except NotWritten as error:
            raise ToolError(str(error)) from None
    if options.json:
        print(json.dumps(data, indent=2))
    else:
        print(view.text(result, options.settings))


def ask_all(options: argparse.Namespace) -> None:
    """The guided way: ask for each point in turn; an empty line leaves it out."""
    if not sys.stdin.isatty():
        raise CalibrationError("no readings: give --ice, --boil, --reference or --fixed (see --help)")
    print("The probe must be in its final cable and chip; nothing here needs the oven or the mains on.")
    options.ice = ask("Melting ice, stirred, 10 minutes. Readings, °C (several, spaces): ", many=True)
    options.boil = ask("Rolling boil, tip off the bottom, hands clear. Readings, °C: ", many=True)
    if options.boil and options.pressure_hpa is None and options.altitude_m is None:
        options.pressure_hpa = ask("Station pressure today, hPa (empty: by altitude): ")
        if options.pressure_hpa is None:
            options.altitude_m = ask("Altitude, m: ")
    while len(options.reference) < 5:
        true_c = ask(f"Reference thermometer {len(options.reference) + 1}, °C (empty: none): ")
        if true_c is None:
            break
        reading = ask("The probe beside it, °C: ")
        if reading is not None:
            options.reference.append(f"{true_c}:{reading}")
    if options.reference and options.reference_uncertainty is None:
        options.reference_uncertainty = ask("Its certificate's uncertainty, K (k = 2): ")


def ask(question: str, many: bool = False) -> float | list[float] | None:
    """A number (or a list of them) typed at the terminal; None for an empty line."""
    while True:
        try:
            words = input(question).replace(",", ".").split()
            if not words:
                return None
            values = [float(word) for word in words]
            return values if many else values[0]
        except EOFError:
            return None
        except ValueError:
            print("  a number is needed, or an empty line")
