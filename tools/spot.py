"""`tizzone spot`: tell the board what a hand-held thermometer reads on the bare stone."""

import argparse

from host.talk import asked, fields
from tools import ToolError, onboard

HELP = "type in a hand-held infrared reading of the bare stone, °C"
EXAMPLE = """\
examples:
  tizzone spot 412        bare stone, its middle, thermometer set to emissivity 0.90
  tizzone spot            what the board thinks of its stone

After a trip of the only probe, a reading below 60 °C is your word that the oven is cold: it counts after an hour
without heat, once every probe reads below 60 °C as well; then `tizzone say acknowledge`.

Each reading makes the estimate better; three spread over the preheat do most.
Exit code: 0 taken, 1 refused, 2 wrong use."""
NEXT = "tizzone watch"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("reading", nargs="?", metavar="C", help="the reading, °C")
    onboard.add_port(parser)


def run(options: argparse.Namespace) -> int:
    """0 taken, 1 refused; ToolError for a reading that is none."""
    value_c = None
    if options.reading is not None:
        try:
            value_c = float(options.reading.replace(",", "."))
        except ValueError:
            raise ToolError(f"'{options.reading}' is no temperature; say: tizzone spot 412") from None
        if not -20.0 < value_c < 650.0:
            raise ToolError(f"{value_c:g} °C: -20 to 650 °C is what a stone can have")
    return onboard.answered("spot", options, lambda: taken(options, value_c))


def taken(options: argparse.Namespace, value_c: float | None) -> dict:
    """Send it, or ask."""
    with onboard.board(options) as client:
        said = asked(client, "stone" if value_c is None else f"spot {value_c:g}")
    got = fields(said)
    guess = f"the board thinks: surface {got['surface_c']} °C, core {got['core_c']} °C, give or take {got['sigma_k']} K"
    tell = onboard.teller(options)
    tell(guess if value_c is None else f"it was {got['off_k']} K off; {guess}")
    if " cold: " in said:
        tell("taken as proof that the oven is cold: " + said.partition(" cold: ")[2])
    if " far: " in said:
        tell("far off: " + said.partition(" far: ")[2])
    return {"said": said, **got}
