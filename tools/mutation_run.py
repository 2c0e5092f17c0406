"""Runs tests on mutants in forked processes: see tools/mutate.py."""

from __future__ import annotations

import ast
import gc
import os
import pickle
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import CodeType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pytest

    from host.shim.loader import World

ROOT = Path(__file__).parents[1]
SHIM = ROOT / "host" / "shim" / "modules"
PATIENCE_S = 60  # of computing, or twice what all tests took once: a mutant that does not end counts as killed
PREPARE = (  # loaded once in the parent, before any fork
    "numpy", "_pytest.runner", "host.simulator.rehearsal", "host.drill.campaign", "host.oven", "hypothesis",
)  # fmt: skip
Work = list[tuple[str, str, int, CodeType]]  # (module, key, line, code)


class Run:
    """`files`: the tests. `near`: {module: stems to run first}. `once`: they are collected once for all mutants, which
    is several times quicker but misses what a test took from a device module as it was collected; else each forked
    process collects them on the changed code."""

    def __init__(
        self,
        files: Sequence[str],
        near: Mapping[str, Sequence[str]],
        path_of: Callable[[str], Path],
        jobs: int,
        once: bool,
    ) -> None:
        self.files = files
        self.near = near
        self.path_of = path_of
        self.jobs = jobs
        self.once = once
        self.work = []
        self.tell: Any = None
        self.survivors = []
        self.fault: str | None = None
        self.worlds: list[World] = []  # those that the tests made as they were collected
        self.reached: dict[str, tuple[float, set[tuple[str, str]]]] = {}  # what each test runs, as Recorder tells it
        # As they are now, whatever is edited meanwhile; compiled once for all children.
        self.sources = {
            path: compile(path.read_text("utf-8"), str(path), "exec")
            for folder in (ROOT / "device", SHIM)
            for path in folder.rglob("*.py")
        }

    def run(self, work: Work, tell: Callable[[int, int], object]) -> tuple[Work, str | None]:
        """(survivors of `work`, None or what went wrong)."""
        self.work, self.tell = work, tell
        if self.once:
            import pytest

            pytest.main([*self.files, *self._options()], plugins=[self])
        else:
            for name in PREPARE:
                __import__(name)
            self._all(None)
        return self.survivors, self.fault

    @staticmethod
    def _options():
        return [
            "-qq",
            "-x",
            "-p",
            "no:cacheprovider",
            "-p",
            "no:xdist",
            "--no-header",
            "--tb=no",
            "-k",
            "not micropython",
        ]

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Instead of running the tests once."""
        if session.testsfailed:
            self.fault = "the suite cannot be collected"
        else:
            from host.shim.loader import World

            self.worlds = [found for found in gc.get_objects() if isinstance(found, World)]
            self._all(session.items)
        return True

    def _all(self, items):
        with tempfile.TemporaryDirectory(prefix="mutate-") as folder:
            kept = Path(folder) / "reached"
            if self._wait({self._fork(items, None, kept): None}) != [(None, True)]:
                self.fault = "the suite fails on the unchanged code"
                return
            self.reached = pickle.loads(kept.read_bytes())
        running = {}
        for done, one in enumerate(self.work, 1):
            chosen = self.chosen(one)
            if not chosen:  # no test comes by
                self.survivors.append(one)
                continue
            while len(running) >= self.jobs:
                self._reap(running)
            running[self._fork(items, one, chosen=chosen)] = one
            self.tell(done, len(self.survivors))
        while running:
            self._reap(running)

    def _reap(self, running):
        for one, passed in self._wait(running):
            if passed:
                self.survivors.append(one)

    @staticmethod
    def _wait(running):
        pid, status = os.wait()
        return [(running.pop(pid), status == 0)] if pid in running else []

    def chosen(self, one: tuple[str, str, int, CodeType]) -> list[str]:
        """Tests that run the changed function, nearest and quickest first; all for the body of a module or class."""
        file, name = str(self.path_of(one[0])), one[1].partition(": ")[0]
        source = Path(file).read_text("utf-8")
        bodies = {"module"} | {node.name for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ClassDef)}
        near = self.near.get(one[0], ())

        def order(test):
            stem = Path(test.partition("::")[0]).stem
            return near.index(stem) if stem in near else len(near), self.reached[test][0]

        return sorted((t for t in self.reached if name in bodies or (file, name) in self.reached[t][1]), key=order)

    def _fork(self, items, one, kept=None, chosen=None):
        sys.stdout.flush()
        pid = os.fork()
        if pid:
            return pid
        code = 1
        try:
            gc.disable()
            if one is not None:
                all_s = sum(seconds for seconds, _ in self.reached.values())
                signal.setitimer(signal.ITIMER_PROF, min(PATIENCE_S, 5 + 2 * all_s))
            if not os.environ.get("MUTATE_SHOW"):
                null = os.open(os.devnull, os.O_WRONLY)
                os.dup2(null, 1)
                os.dup2(null, 2)
            sources = self.sources if one is None else {**self.sources, self.path_of(one[0]): one[3]}
            recorder = Recorder() if kept else None
            how = (items, chosen) if self.once else (chosen,)
            passes = (self._collected if self.once else self._afresh)(sources, recorder, *how)
            if kept:
                kept.write_bytes(pickle.dumps(recorder.found))
            code = 0 if passes else 1
        finally:
            os._exit(code)

    def _collected(self, sources, recorder, items, chosen):
        """The tests that were collected before the fork, on Worlds with these sources."""
        from _pytest.runner import runtestprotocol

        from host.shim.loader import World

        self._take(sources)
        for world in self.worlds:
            renew(world)
        if "safety_bench" in sys.modules:
            sys.modules["safety_bench"].replace_world(World())
        if chosen is not None:
            by_name = {item.nodeid: item for item in items}
            items = [by_name[name] for name in chosen]
        for item, following in zip(items, items[1:] + [None], strict=True):
            if recorder:
                recorder.begin()
            if any(report.failed for report in runtestprotocol(item, nextitem=following, log=False)):
                return False
            if recorder:
                recorder.end(item.nodeid)
        return True

    @staticmethod
    def _take(sources):
        """From now on every World loads these."""
        from host.shim import loader

        def code(world, path):
            return sources[path] if path in sources else compile(path.read_text("utf-8"), str(path), "exec")

        loader.World._code = code

    def _afresh(self, sources, recorder, chosen):
        """Collect and run the tests in this process, where every World loads these sources."""
        import pytest

        from host.shim import loader

        self._take(sources)
        loader._worlds.clear()
        if chosen is None:
            return pytest.main([*self.files, *self._options()], plugins=[recorder]) == 0
        for file in self.files:  # one after the other: what the nearest file kills needs no other one collected
            names = [test for test in chosen if Path(test.partition("::")[0]).name == Path(file).name]
            if names and pytest.main([file, *self._options()], plugins=[Chooser(names)]) != 0:
                return False
        return True


def renew(world: World) -> None:
    """Execute every device module of a World anew, each in the module object that tests may hold."""
    from host.shim.loader import DeviceModule

    device = str(ROOT / "device")
    held = {
        name: module for name, module in world.modules.items()
        if isinstance(module, DeviceModule) and str(getattr(module, "__file__", "")).startswith(device)
    }  # fmt: skip
    for name in held:
        del world.modules[name]
    made = world._fresh

    def fresh(name, path):
        module = made(name, path)
        if name in held:
            held[name].__dict__.clear()
            held[name].__dict__.update(vars(module))
        return held.get(name, module)

    world._fresh = fresh  # type: ignore[method-assign]
    for name in held:
        world.load(name)


class Chooser:
    """Has pytest run these tests alone, in this order."""

    def __init__(self, chosen: Sequence[str]) -> None:
        self.chosen = {name: number for number, name in enumerate(chosen)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Leave the others out."""
        items[:] = sorted((i for i in items if i.nodeid in self.chosen), key=lambda item: self.chosen[item.nodeid])


class Recorder:
    """Which functions of the device a test runs: `found` {test: (seconds, {(file, function)})}."""

    def __init__(self) -> None:
        self.found: dict[str, tuple[float, set[tuple[str, str]]]] = {}
        self.ran: set[CodeType] = set()
        self.begun_s = 0.0

    def begin(self) -> None:
        """A test begins."""
        self.ran = set()
        self.begun_s = time.monotonic()
        sys.setprofile(lambda frame, event, argument: self.ran.add(frame.f_code))

    def end(self, name: str) -> None:
        """It is over."""
        sys.setprofile(None)
        device = str(ROOT / "device")
        ran = {
            (code.co_filename, code.co_qualname.replace(".<locals>", ""))
            for code in self.ran if code.co_filename.startswith(device)
        }  # fmt: skip
        self.found[name] = (time.monotonic() - self.begun_s, ran)

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        """pytest's word that a test begins."""
        self.begin()

    def pytest_runtest_logfinish(self, nodeid: str) -> None:
        """And that it is over."""
        self.end(nodeid)
