"""Reads a pin map (`boards/<board>.py`): plain assignments of literals, never executed."""

import ast
import types
from pathlib import Path

BOARDS = Path(__file__).parents[1] / "boards"
INPUTS = (
    "CONTACTOR_OPEN",
    "ENABLE",
    "LIMIT_OK",
    "SELECTOR",
    "FAN_OK",
    "DOOR",
    "MAINTENANCE",
    "MAINS_SENSE_TOP",
    "MAINS_SENSE_DECK",
)
OUTPUTS = ("HEAT_TOP", "HEAT_DECK", "CONTACTOR", "COOLING_FAN")


class PinMapError(ValueError):
    """The pin map cannot be used; the text is one line."""


class PinMap(types.SimpleNamespace):
    """The names of a pin map as attributes; what is not wired is absent, as on the board."""

    def pin(self, name):
        """The pin number of a name, or None."""
        return getattr(self, name, None)


def find(board):
    """The file of a board given as a path or by its name."""
    for path in (Path(board), BOARDS.parent / board, BOARDS / f"{board}.py"):
        if path.is_file():
            return path
    known = ", ".join(sorted(path.stem for path in BOARDS.glob("*.py")))
    raise PinMapError(f"no board {str(board)!r} (known: {known})")


def read(board):
    """A PinMap from a path or board name; PinMapError for anything but assignments of literals."""
    path = find(board)
    try:
        tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
    except (SyntaxError, UnicodeDecodeError) as error:
        raise PinMapError(f"{path.name}: not a pin map: {error}") from error
    pins = PinMap()
    for node in tree.body:
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            continue
        if not isinstance(node, ast.Assign) or not isinstance(node.targets[0], ast.Name):
            raise PinMapError(f"{path.name}: line {node.lineno}: only assignments are allowed")
        try:
            value = ast.literal_eval(node.value)
        except ValueError as error:
            text = f"{path.name}: line {node.lineno}: not a literal"
            raise PinMapError(text) from error
        for target in node.targets:
            setattr(pins, target.id, value)
    return pins
