"""Device code on CPython: its modules are loaded apart from ours, with MicroPython's supplied.

The code is never patched: it is compiled from its own files (so coverage and tracebacks are right), and its
`import` alone goes another way. Nothing of it enters sys.modules. A World is loaded once per device folder
and process; the boards in it take turns through `simboard.port`.
"""

from __future__ import annotations

import builtins
import importlib
import io
import sys
import types
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from host.shim.port import Port

if TYPE_CHECKING:
    from host.shim.simfs import SimIo


SHIM = Path(__file__).parent / "modules"
DEVICE = Path(__file__).parents[2] / "device"
# In the order they need each other.
OWN = ("simboard", "micropython", "simbus", "machine", "time", "framefont", "framebuf")
# What MicroPython has too and the device may use as it is.
SHARED = (
    "array",
    "binascii",
    "collections",
    "errno",
    "hashlib",
    "json",
    "math",
    "random",
    "re",
    "struct",
)


class DeviceModule(types.ModuleType):
    """A module that stays itself when a board that refers to it is copied."""

    def __deepcopy__(self, _memo: dict[int, Any]) -> Self:
        return self


class Proxy:
    """A module whose contents belong to the board that runs just now."""

    def __init__(self, world: World, name: str, find: Callable) -> None:
        self.__name__ = name
        self._world = world
        self._find = find

    def __getattr__(self, name):
        if name.startswith("__"):
            raise AttributeError(name)
        return getattr(self._find(self._world.modules["simboard"].port), name)

    def __dir__(self):
        return dir(self._find(self._world.modules["simboard"].port))

    def __deepcopy__(self, _memo: dict[int, Any]) -> Self:
        return self


class World:
    """The device modules of one folder. `load(name)` imports one; `running(port)` lets a board act."""

    def __init__(self, device: Path = DEVICE) -> None:
        self.device = Path(device)
        self.modules: dict[str, Any] = {}
        self.sources: dict[Path, types.CodeType] = {}
        self._builtins = dict(vars(builtins))
        self._builtins["__import__"] = self._import
        self._builtins["print"] = self._print
        self._builtins["open"] = lambda *a, **k: self.modules["simboard"].port.fs.io.open(*a, **k)
        for name in OWN:
            self._execute(name, SHIM / (name + ".py"))
        self.modules["board"] = Proxy(self, "board", _board)
        self.modules["os"] = Proxy(self, "os", _os)
        self.modules["io"] = Proxy(self, "io", _io)
        self.modules["gc"] = _module(
            "gc",
            collect=lambda: 0,
            mem_free=lambda: 150_000,
            mem_alloc=lambda: 40_000,
            threshold=lambda *_amount: -1,
            enable=lambda: None,
            disable=lambda: None,
        )
        # The application takes its streams as an argument; nothing is behind these.
        self.modules["select"] = _module("select", poll=_Poll, POLLIN=1, POLLOUT=4)
        self.modules["sys"] = _module(
            "sys",
            implementation=types.SimpleNamespace(name="micropython", version=(1, 22, 0)),
            platform="rp2",
            version="simulated",
            modules=self.modules,
            path=[""],
            byteorder="little",
            maxsize=(1 << 31) - 1,
            stdin=None,
            stdout=None,
            print_exception=lambda error, file=None: self._print(repr(error)),
        )

    def __deepcopy__(self, _memo: dict[int, Any]) -> Self:
        return self

    @contextmanager
    def running(self, port: Port | None) -> Iterator[None]:
        """Within this block `port` is the board that machine and time act on."""
        simboard = self.modules["simboard"]
        before, simboard.port = simboard.port, port
        try:
            yield
        finally:
            simboard.port = before

    def load(self, name: str) -> Any:
        """The module `name` ("tizzone.memory.store") of the device folder, or one that MicroPython supplies."""
        if name in self.modules:
            return self.modules[name]
        if name in SHARED:
            return importlib.import_module(name)
        parent, _, last = name.rpartition(".")
        if parent:
            self.load(parent)
        base = self.device.joinpath(*name.split("."))
        for path in (base.with_suffix(".py"), base / "__init__.py"):
            if path.is_file():
                module = self._execute(name, path)
                if parent:
                    setattr(self.modules[parent], last, module)
                return module
        raise ImportError(f"no module named {name!r} on the board", name=name)

    def run_file(self, name: str) -> DeviceModule:
        """Execute a file of the device folder afresh, as the board does at each start."""
        module = self._fresh(name, self.device / (name + ".py"))
        exec(self._code(self.device / (name + ".py")), module.__dict__)
        return module

    def _code(self, path):
        if path not in self.sources:
            self.sources[path] = compile(path.read_text(encoding="utf-8"), str(path), "exec")
        return self.sources[path]

    def _fresh(self, name, path):
        module = DeviceModule(name)
        is_package = path.name == "__init__.py"
        module.__dict__.update(
            __file__=str(path),
            __builtins__=self._builtins,
            __package__=name if is_package else name.rpartition(".")[0],
        )
        return module

    def _execute(self, name, path):
        module = self._fresh(name, path)
        code = self._code(path)
        self.modules[name] = module
        try:
            exec(code, module.__dict__)
        except BaseException:
            del self.modules[name]
            raise
        return module

    def _import(self, name, globals=None, _locals=None, fromlist=(), level=0):
        if level:
            package = globals["__package__"].split(".")
            base = ".".join(package[: len(package) - level + 1])
            name = f"{base}.{name}" if name else base
        module = self.load(name)
        if not fromlist:
            return self.load(name.partition(".")[0])
        for item in fromlist:
            if item != "*" and not hasattr(module, item) and hasattr(module, "__file__"):
                try:
                    self.load(f"{name}.{item}")
                except ImportError as error:
                    if error.name != f"{name}.{item}":
                        raise
        return module

    def _print(self, *values, sep=" ", end="\n", file=None):
        port = self.modules["simboard"].port
        text = sep.join(str(value) for value in values)
        if port is None:
            sys.stderr.write(text + end)
        else:
            port.printed.append(text)


_worlds: dict = {}


def world(device: Path | str = DEVICE) -> World:
    """The World of a device folder, loaded once."""
    key = Path(device).resolve()
    if key not in _worlds:
        _worlds[key] = World(key)
    return _worlds[key]


def _module(name, **contents):
    module = DeviceModule(name)
    module.__dict__.update(contents)
    return module


def _board(port):
    if port is None or port.board is None:
        raise ImportError("no module named 'board'")
    return port.board


def _os(port):
    return port.fs.os


class _Poll:
    """`select.poll()` with nothing to poll."""

    def register(self, stream, events=0):
        """Accepted."""

    def poll(self, timeout_ms=-1):
        """Never anything."""
        return []

    ipoll = poll


class _Io:
    """`io`: files of the board, and the buffers that both runtimes have."""

    StringIO = io.StringIO
    BytesIO = io.BytesIO

    def __init__(self, files: SimIo) -> None:
        self.open = files.open


def _io(port):
    return _Io(port.fs.io)
