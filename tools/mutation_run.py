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
from cProfile import Profile
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import TYPE_CHECKING, Any

from tools.mutation_patch import forget, patched, renew

if TYPE_CHECKING:
    import pytest

    from host.shim.loader import World

ROOT = Path(__file__).parents[1]
SHIM = ROOT / "host" / "shim" / "modules"
PATIENCE_S = 60  # of computing, or twice what all tests took once: a mutant that does not end counts as killed
PREPARE = (  # loaded once in the parent, before any fork
    "numpy", "pytest", "_pytest.unittest", "host.simulator.rehearsal", "host.drill.campaign", "host.oven", "hypothesis",
    "tests.pico.rig",
)  # fmt: skip
Work = list[tuple[str, str, int, CodeType]]  # (module, key, line, code)


class Run:
    """`files`: the tests. `near`: {module: stems to run first}. `once`: they are collected once for all mutants, which
    is several times quicker but misses what a test took from a device module as it was collected; else each forked
    process collects them on the changed code. `quick`: where it can be, only the one function is changed, where it is
    loaded; that misses what was called while its module was loaded."""

    def __init__(
        self,
        files: Sequence[str],
        near: Mapping[str, Sequence[str]],
        path_of: Callable[[str], Path],
        jobs: int,
        once: bool,
        quick: bool = False,
    ) -> None:
        self.files = files
        self.near = near
        self.path_of = path_of
        self.jobs = jobs
        self.once = once
        self.quick = quick
        self.work = []
        self.tell: Any = None
        self.survivors = []
        self.fault: str | None = None
        self.worlds: list[World] = []  # those that the tests made as they were collected
        self.reached: dict[str, tuple[float, set[tuple[str, str]]]] = {}  # what each test runs, as Recorder tells it
        self.bodies: dict[str, set[str]] = {}  # of each file: names that any test may reach, as bodies_of tells them
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
            "--assert=plain",  # nobody reads why one failed
            "-p",
            "no:unraisableexception",  # which collects garbage at each end
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
        if file not in self.bodies:
            self.bodies[file] = bodies_of(ast.parse(Path(file).read_text("utf-8")))
        bodies = self.bodies[file]
        near = self.near.get(one[0], ())

        def order(test):
            stem = Path(test.partition("::")[0]).stem
            return near.index(stem) if stem in near else len(near), self.reached[test][0]

        return sorted((t for t in self.reached if name in bodies or (file, name) in self.reached[t][1]), key=order)

    def _fork(self, items, one, kept=None, chosen=None):
        sys.stdout.flush()
        from hypothesis import settings

        pid = os.fork()
        if pid:
            return pid
        code = 1
        try:
            gc.disable()
            os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
            settings.register_profile("mutate", deadline=None, derandomize=True, database=None)
            settings.load_profile("mutate")  # no slow machine and no luck kills a mutant
            if one is not None:
                all_s = sum(seconds for seconds, _ in self.reached.values())
                signal.setitimer(signal.ITIMER_PROF, min(PATIENCE_S, 5 + 2 * all_s))
            if not os.environ.get("MUTATE_SHOW"):
                null = os.open(os.devnull, os.O_WRONLY)
                os.dup2(null, 1)
                os.dup2(null, 2)
            sources = self.sources if one is None else {**self.sources, self.path_of(one[0]): one[3]}
            recorder = Recorder() if kept else None
            how = (items, chosen, one) if self.once else (chosen,)
            passes = (self._collected if self.once else self._afresh)(sources, recorder, *how)
            if kept:
                kept.write_bytes(pickle.dumps(recorder.found))
            code = 0 if passes else 1
        finally:
            os._exit(code)

    def _collected(self, sources, recorder, items, chosen, one):
        """The tests that were collected before the fork, on Worlds with these sources."""
        from _pytest.runner import runtestprotocol

        from host.shim.loader import World

        self._take(sources)
        path = None if one is None else self.path_of(one[0])
        if not (self.quick and path and self._patched(path, one)):
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

    def _patched(self, path, one):
        return patched(self.worlds, path, one[1].partition(": ")[0], self.sources[path], one[3])

    @staticmethod
    def _take(sources):
        """From now on every World loads these."""
        from host.shim import loader

        def code(world, path):
            return sources[path] if path in sources else compile(path.read_text("utf-8"), str(path), "exec")

        def get_code(own, name):  # of tests that import the device without a World
            return sources.get(Path(own.path)) or plain(own, name)

        plain = SourceFileLoader.get_code
        SourceFileLoader.get_code = get_code  # type: ignore[method-assign]
        loader.World._code = code

    def _afresh(self, sources, recorder, chosen):
        """Collect and run the tests in this process, where every World loads these sources."""
        import pytest

        from host.shim import loader

        self._take(sources)
        forget(ROOT)
        loader._worlds.clear()
        if chosen is None:
            return pytest.main([*self.files, *self._options()], plugins=[recorder]) == 0
        for file in self.files:  # one after the other: what the nearest file kills needs no other one collected
            names = [test for test in chosen if Path(test.partition("::")[0]).name == Path(file).name]
            if names and pytest.main([file, *self._options()], plugins=[Chooser(names)]) != 0:
                return False
        return True


def bodies_of(tree: ast.Module) -> set[str]:
    """Names of what runs while a module is loaded: itself, its classes, what is called beside its functions."""
    bodies = {"module"} | {node.name for node in ast.walk(tree) if isinstance(node, ast.ClassDef)}
    for part in tree.body:
        if not isinstance(part, (ast.FunctionDef, ast.ClassDef)):
            bodies |= {node.id for node in ast.walk(part) if isinstance(node, ast.Name)}
    return bodies


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
        self.profile = Profile(subcalls=False, builtins=False)
        self.begun_s = 0.0

    def begin(self) -> None:
        """A test begins."""
        self.profile = Profile(subcalls=False, builtins=False)
        self.begun_s = time.process_time()
        self.profile.enable()

    def end(self, name: str) -> None:
        """It is over."""
        self.profile.disable()
        device = str(ROOT / "device")
        codes = [row.code for row in self.profile.getstats() if isinstance(row.code, CodeType)]
        ran = {
            (code.co_filename, code.co_qualname.replace(".<locals>", ""))
            for code in codes if code.co_filename.startswith(device)
        }  # fmt: skip
        self.found[name] = (time.process_time() - self.begun_s, ran)

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        """pytest's word that a test begins."""
        self.begin()

    def pytest_runtest_logfinish(self, nodeid: str) -> None:
        """And that it is over."""
        self.end(nodeid)
