"""Runs tests on mutants in forked processes: see tools/mutate.py."""

from __future__ import annotations

import gc
import os
import signal
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import CodeType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pytest

ROOT = Path(__file__).parents[1]
SHIM = ROOT / "host" / "shim" / "modules"
PATIENCE_S = 150  # a mutant that does not end counts as killed
PREPARE = (  # loaded once in the parent, before any fork
    "numpy", "_pytest.runner", "host.simulator.rehearsal", "host.drill.campaign", "host.oven", "hypothesis",
)  # fmt: skip
Work = list[tuple[str, str, int, CodeType]]  # (module, key, line, code)


class Run:
    """`files`: the tests. `near`: {module: stems to run first}. `once`: they are unit tests that take their World from
    safety_bench and are collected once for all mutants; else each forked process collects them on the changed code."""

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
            self._all(session.items)
        return True

    def _all(self, items):
        if self._wait({self._fork(items, None): None}) != [(None, True)]:
            self.fault = "the suite fails on the unchanged code"
            return
        running = {}
        for done, one in enumerate(self.work, 1):
            while len(running) >= self.jobs:
                self._reap(running)
            running[self._fork(items, one)] = one
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

    def _fork(self, items, one):
        sys.stdout.flush()
        pid = os.fork()
        if pid:
            return pid
        code = 1
        try:
            gc.disable()
            signal.alarm(PATIENCE_S)
            if not os.environ.get("MUTATE_SHOW"):
                null = os.open(os.devnull, os.O_WRONLY)
                os.dup2(null, 1)
                os.dup2(null, 2)
            sources = self.sources if one is None else {**self.sources, self.path_of(one[0]): one[3]}
            passes = self._collected(items, one, sources) if self.once else self._afresh(sources)
            code = 0 if passes else 1
        finally:
            os._exit(code)

    def _collected(self, items, one, sources):
        """The tests that were collected before the fork, on a World with these sources."""
        import safety_bench
        from _pytest.runner import runtestprotocol

        from host.shim.loader import World

        class Changed(World):
            def _code(self, path):
                return sources[path]

        safety_bench.replace_world(Changed())
        near = self.near.get(one[0], ()) if one is not None else ()
        items = sorted(items, key=lambda item: near.index(item.path.stem) if item.path.stem in near else len(near))
        for item, following in zip(items, items[1:] + [None], strict=True):
            if any(report.failed for report in runtestprotocol(item, nextitem=following, log=False)):
                return False
        return True

    def _afresh(self, sources):
        """Collect and run the tests in this process, where every World loads these sources."""
        import pytest

        from host.shim import loader

        def code(world, path):
            return sources[path] if path in sources else compile(path.read_text("utf-8"), str(path), "exec")

        loader.World._code = code
        loader._worlds.clear()
        return pytest.main([*self.files, *self._options()]) == 0
