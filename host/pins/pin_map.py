"""Reads a pin map (`boards/<board>.py`): plain assignments of literals, never executed."""

import ast
import types
from dataclasses import dataclass, field
from pathlib import Path

from host.errors import InputError
from host.files import kinds

BOARDS = Path(__file__).parents[2] / "boards"
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
LARGEST = 1 << 30  # of what the device keeps in a number
OUTPUTS = ("HEAT_TOP", "HEAT_DECK", "CONTACTOR", "COOLING_FAN")


class PinMapError(InputError):
    """The pin map cannot be used; the text is one line."""


class PinMap(types.SimpleNamespace):
    """The names of a pin map as attributes; what is not wired is absent, as on the board."""

    def pin(self, name: str) -> int | None:
        """The pin number of a name, or None."""
        return getattr(self, name, None)


@dataclass
class Source:
    """A pin map with where its names stand: `lines` {"HEAT_TOP": 26, "PROBES.dome.cs": 43, ...}, and `repeated`
    [(name, line, line of the first)] for what is assigned twice: the later one wins on the board."""

    path: Path
    pins: PinMap
    lines: dict = field(default_factory=dict)
    repeated: list = field(default_factory=list)

    def note(self, name: str, line: int) -> None:
        """Remember where a name stands."""
        if name in self.lines:
            self.repeated.append((name, line, self.lines[name]))
            for inner in [other for other in self.lines if other.startswith(f"{name}.")]:
                del self.lines[inner]
        self.lines[name] = line


def find(board: Path | str) -> Path:
    """The file of a board given as a path or by its name."""
    for path in (Path(board), BOARDS.parent / board, BOARDS / f"{board}.py"):
        if path.is_file():
            return path
    known = ", ".join(sorted(path.stem for path in BOARDS.glob("*.py")))
    raise PinMapError(f"no board {str(board)!r} (known: {known})")


def read(board: Path | str) -> PinMap:
    """A PinMap from a path or board name; PinMapError for anything but assignments of literals."""
    return read_source(board).pins


def read_source(board: Path | str) -> Source:
    """The same with line numbers: a Source."""
    path = find(board)
    kind = kinds.kind_of(path)
    if kind:
        raise PinMapError(f"{path.name}: is a file of the kind '{kind}', not a pin map")
    try:
        tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        raise PinMapError(f"{path.name}: not a pin map: {_one_line(error)}") from error
    except OSError as error:
        raise PinMapError(f"{path.name}: cannot be read: {error.strerror}") from error
    source = Source(path, PinMap())
    for node in tree.body:
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            continue
        if not isinstance(node, ast.Assign) or not all(isinstance(target, ast.Name) for target in node.targets):
            raise PinMapError(f"{path.name}: line {node.lineno}: only assignments are allowed")
        try:
            value = ast.literal_eval(node.value)
        except (ValueError, TypeError, SyntaxError, RecursionError, MemoryError) as error:
            raise PinMapError(f"{path.name}: line {node.lineno}: not a literal") from error
        if any(abs(number) > LARGEST for number in _numbers(node.value)):
            raise PinMapError(f"{path.name}: line {node.lineno}: a number too large for any board")
        for target in node.targets:
            name = getattr(target, "id", "")
            setattr(source.pins, name, value)
            source.note(name, node.lineno)
            _note_keys(source, name, node.value)
    return source


def _note_keys(source, name, node):
    if isinstance(node, ast.Dict):
        for key, value in zip(node.keys, node.values, strict=True):
            if isinstance(key, ast.Constant):
                source.note(f"{name}.{key.value}", key.lineno)
                _note_keys(source, f"{name}.{key.value}", value)


def _numbers(node):
    for part in ast.walk(node):
        if isinstance(part, ast.Constant) and isinstance(part.value, (int, float, complex)):
            yield part.value


def _one_line(error):
    return " ".join(str(error).split()) or type(error).__name__
