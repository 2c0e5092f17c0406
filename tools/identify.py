"""`tizzone identify`: learn an oven, simulated or from a recorded run, and tune the controller for it."""

from __future__ import annotations

import argparse
import json

from host import oven
from host.errors import HostError
from host.files import kinds
from host.learning import learn
from host.oven import named
from host.runs import recording, ripple
from tools import ToolError

HELP = "learn the oven by an experiment at 250 C or below and tune the controller for it"
EXAMPLE = """\
example:
  tizzone identify --preset standard          the whole experiment on a simulated oven
  tizzone identify --sample 7 --levels 220    one level only: quicker, no steady power model
  tizzone identify --run learned/             the fit and the tuning from a recorded run folder
  tizzone identify --run learned/ --from 1200 --to 1800
  tizzone identify --twin runs/club-night --top-w 1500 --deck-w 1400 --out hall.twin.json
                                              your oven's twin, for rehearse --oven twin:hall.twin.json

Exit code: 0 learned, 1 refused (the reason is said; the tuning in force stays), 2 wrong use.
Somebody stays with the oven while it learns; stop at any time. Values above 250 C are never asked for."""
NEXT = "tizzone rehearse --oven twin:FILE with a twin, or tizzone settings set NAME VALUE on the board"
NEXT_IF_NOT = "tizzone identify again, on a cold oven that nobody opens"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `tizzone identify`."""
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--preset", choices=[name for name in oven.PRESETS if name != "lamp"], help="a named oven")
    what.add_argument("--sample", type=int, metavar="SEED", help="a random oven")
    what.add_argument("--run", dest="folder", metavar="FOLDER", help="a recorded run, a level held by on and off")
    what.add_argument("--twin", metavar="FOLDER", help="fit a simulated twin of your oven to a recorded evening")
    parser.add_argument("--top-w", type=float, metavar="W", help="twin: power of the top element")
    parser.add_argument("--deck-w", type=float, metavar="W", help="twin: power of the deck element")
    parser.add_argument("--stone-mm", type=float, metavar="MM", help="twin: thickness of the stone")
    parser.add_argument("--out", metavar="FILE", help="twin: the file to write")
    parser.add_argument("--levels", type=float, nargs="+", default=[150.0, 220.0], metavar="C",
                        help="one or two levels, 60..230 C (default 150 220)")  # fmt: skip
    parser.add_argument("--from", dest="from_s", type=float, default=None, metavar="S", help="use the run from here")
    parser.add_argument("--to", dest="to_s", type=float, default=None, metavar="S", help="use the run until here")
    parser.add_argument("--force", action="store_true", help="write over a file of another kind that is there already")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def run(options: argparse.Namespace) -> int:
    """Run the command; 0 learned, 1 refused; ToolError for unusable input."""
    if options.twin:
        return _twin(options)
    try:
        result = _recorded(options) if options.folder else _simulated(options)
    except (ValueError, recording.RecordingError) as error:
        raise ToolError(str(error)) from None
    if options.json:
        print(json.dumps(result, indent=1))
    else:
        print("\n".join(_lines(result)))
    return 0 if result["ok"] else 1


def _simulated(options):
    plant = oven.preset(options.preset) if options.preset else oven.sample(options.sample)
    return learn.on_plant(plant, levels_c=tuple(options.levels))


def _recorded(options):
    rows = recording.read_run(options.folder).rows
    if options.from_s is not None:
        rows = rows[rows["t_s"] >= options.from_s]
    if options.to_s is not None:
        rows = rows[rows["t_s"] <= options.to_s]
    return learn.on_record(*(rows[name].tolist() for name in ("t_s", "pv_c", "out_pct")))


def _twin(options):
    """Fit, tell and write the twin; 0 done."""
    try:
        from host.learning import twin
    except ImportError:
        raise ToolError("a twin needs scipy: python -m pip install scipy, or the extra 'fit' of Tizzone") from None
    if not options.out or not options.top_w or not options.deck_w:
        raise ToolError("--twin needs --top-w, --deck-w (from the oven's plate or measured) and --out FILE")
    if not (100 <= options.top_w <= 5000 and 100 <= options.deck_w <= 5000):
        raise ToolError("--top-w, --deck-w: 100 to 5000 W")
    if options.stone_mm is not None and not 5 <= options.stone_mm <= 80:
        raise ToolError("--stone-mm: 5 to 80")
    try:
        kinds.check(options.out, kinds.TWIN, options.force)
        record = recording.read_run(options.twin)
        rows = record.rows
        events = [
            (event["t_s"], kind, {"seconds": 8.0} if kind == "door" else {})
            for event, kind in ((e, e.get("kind", e.get("event"))) for e in record.events)
            if kind in ("door", "load")
        ]
        evening = twin.Evening(rows["t_s"], rows["pv_c"], rows["heat_top"], rows["heat_deck"], events)
        stone_m = options.stone_mm / 1000 if options.stone_mm else None
        fitted = twin.fit(evening, options.top_w, options.deck_w, stone_m=stone_m)
        if not fitted.fault:
            named.write_twin(options.out, fitted, options.twin, options.force)
    except (ValueError, OSError, HostError) as error:
        raise ToolError(str(error)) from None
    near = ripple.line_of(rows)
    if options.json:
        told = {"rms_k": fitted.rms_k, "scales": fitted.scales, "known": fitted.known, "refused": fitted.fault,
                "file": None if fitted.fault else options.out,
                "probe_near_element": near[1] if near else None}  # fmt: skip
        print(json.dumps(told, indent=1))
    else:
        end = f"no twin, nothing is written: {fitted.fault}" if fitted.fault else f"written: {options.out}"
        print("\n".join([*record.remarks, *fitted.lines(), *(near[:1] if near else ()), end]))
    return 1 if fitted.fault else 0


UNITS = {"kc_pct_per_k": "% per K", "ti_s": "s", "td_s": "s", "lead_s": "s", "rise_k_s_pct": "K/s per %"}


def _lines(result):
    """What a person reads."""
    if not result["ok"]:
        yield "not learned: " + result["reason"]
        yield "the tuning in force stays as it is"
    model = result["model"]
    if model:
        yield (f"model: {model['k']:.3g} K per %, delay {model['theta_s']:.1f} s, "
               f"lags {model['tau1_s']:.0f} s and {model['tau2_s']:.1f} s")  # fmt: skip
    quality = result["quality"]
    if "share" in quality:
        yield f"fit: explains {100 * quality['share']:.0f} % of the movement, leaves {quality['left_k']:.2f} K"
    if "ms" in quality:
        yield f"margin: Ms {quality['ms']:.2f} (1.3 calm .. 2.0 lively)"
    for level_c, out_pct in result["steady"]:
        yield f"steady: {level_c:.0f} C takes {out_pct:.0f} %"
    if result["power"]:
        yield "power: a = {:.4f} % per K, b = {:.1f} % per (K/1000)^4".format(*result["power"])
    for name, value in (result["tuning"] or {}).items():
        yield f"set {name} {value:.4g}    ({UNITS[name]})"
