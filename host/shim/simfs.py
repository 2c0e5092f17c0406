"""An in-memory file system with the surface of MicroPython's `os` and `io.open`, and power cuts.

`SimFS()` has `.os` and `.io`, which stand in for the two modules; both are plain objects, so whole boards can be
deep-copied. Not a byte touches the disk of the machine.

Power cuts. Every operation on the medium (open for writing, flush, close, rename, remove, mkdir) costs one unit and
every byte written one more. `cut_after(n, keep)` lets n units happen; what the next one leaves is the model `keep`:

    old         littlefs: an open file's new content is invisible until flush or close; what was cut did not happen
    new         littlefs, but the operation that was cut is on the medium all the same
    truncated   harsh: opening for writing empties the file at once, bytes land as they come,
                the last block is cut off; a rename has removed its target and moved nothing
    lost_block  harsh: the last block reads as erased (0xFF); a rename is done, less a block
    garbage     harsh: the last block is random bytes, likewise

After the cut nothing reaches the medium until `power_up()`. littlefs keeps the old content until
close (its documentation); the harsh models stand for FAT and for interrupted flash programming.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

ENOENT, EIO, EBADF, EEXIST, EISDIR, EINVAL, ENOSPC = 2, 5, 9, 17, 21, 22, 28
MODELS = ("old", "new", "truncated", "lost_block", "garbage")
DIRECTORY, REGULAR = 0x4000, 0x8000


class PowerCut(BaseException):
    """The supply went away here; nothing on the board may catch it."""


class SimFS:
    """The medium. `capacity` and `block` in bytes; `seed` rules the garbage of a cut."""

    def __init__(self, capacity: int = 1 << 20, block: int = 64, seed: int = 1) -> None:
        self.files: dict[str, bytes] = {}
        self.folders = {""}
        self.capacity = capacity
        self.block = block
        self.units = 0
        self.powered = True
        self.os, self.io = SimOs(self), SimIo(self)
        self._random = random.Random(seed)
        self._cut_at: int | None = None
        self._keep = "old"
        self._refusals: list[int | None] = []

    def cut_after(self, units: int, keep: str = "old") -> None:
        """Cut the power in the unit that follows `units` more of them."""
        if keep not in MODELS:
            raise ValueError(f"unknown model {keep!r}")
        self._cut_at = self.units + units
        self._keep = keep

    def power_up(self) -> None:
        """Power is back: the cut is spent, files that were open are gone."""
        self._cut_at = None
        self._keep = "old"
        self.powered = True

    def refuse(self, code: int, times: int = 1, after: int = 0) -> None:
        """Answer OSError(code) to `times` operations that write, after `after` good ones."""
        self._refusals = [None] * after + [code] * times

    @property
    def is_harsh(self) -> bool:
        """Whether bytes land at once (harsh models) or at flush and close (littlefs)."""
        return self._keep not in ("old", "new")

    def operation(self, act: Callable[[], object], path: str, cut: Callable[[], object] | None = None) -> None:
        """One unit: do `act()`, or be cut in it; `cut()` is the harsh models' half-done state."""
        if self._refusals:
            code = self._refusals.pop(0)
            if code:
                raise OSError(code)
        if self.units_before_cut(1):
            act()
            return
        if self.is_harsh:
            (cut or act)()
            self.damage(path)
        elif self._keep == "new":
            act()
        raise PowerCut(f"in {path}")

    def units_before_cut(self, count: int) -> int:
        """Count up to `count` units; how many of them the supply lasts."""
        self.need_power()
        if self._cut_at is not None and self.units + count > self._cut_at:
            count = self._cut_at - self.units
            self.powered = False
        self.units += count
        return count

    def need_power(self) -> None:
        """A dead board does nothing more."""
        if not self.powered:
            raise PowerCut("no supply")

    def damage(self, path: str) -> None:
        """What a harsh cut does to the last block of a file."""
        data = self.files.get(path)
        if not data:
            return
        start = (len(data) - 1) // self.block * self.block
        if self._keep == "truncated":
            data = data[:start]
        elif self._keep == "lost_block":
            data = data[:start] + b"\xff" * (len(data) - start)
        else:
            data = data[:start] + self._random.randbytes(len(data) - start)
        self.files[path] = data

    def used(self) -> int:
        """Bytes in use, in whole blocks."""
        return sum(-(-len(data) // self.block) * self.block for data in self.files.values())


class SimIo:
    """Stands in for the module `io`."""

    def __init__(self, fs: SimFS) -> None:
        self._fs = fs

    def open(self, path: str, mode: str = "r") -> SimFile:
        """A SimFile; modes r, w, a with an optional b."""
        if mode.replace("b", "").replace("t", "") not in ("r", "w", "a"):
            raise OSError(EINVAL)
        return SimFile(self._fs, plain(path), mode)


class SimFile:
    """An open file: read, readline, write, flush, close, iteration and `with`."""

    def __init__(self, fs: SimFS, path: str, mode: str) -> None:
        self._fs, self._path = fs, path
        self._is_binary = "b" in mode
        self._is_writing = mode[0] != "r"
        self._is_open = True
        fs.need_power()
        if path in fs.folders:
            raise OSError(EISDIR)
        if parent(path) not in fs.folders or (mode[0] == "r" and path not in fs.files):
            raise OSError(ENOENT)
        self._data = bytearray(b"" if mode[0] == "w" else fs.files.get(path, b""))
        self._at = len(self._data) if mode[0] == "a" else 0
        if self._is_writing:
            fs.operation(self._created, path)

    def _created(self):
        # littlefs commits an entry for a new file at once and keeps an old file's content
        if self._path not in self._fs.files or self._fs.is_harsh:
            self._fs.files[self._path] = bytes(self._data)

    def _landed(self):
        self._fs.files[self._path] = bytes(self._data)

    def _need(self, writing):
        if not self._is_open or writing != self._is_writing:
            raise OSError(EBADF)
        self._fs.need_power()

    def write(self, data: bytes | bytearray | memoryview | str) -> int:
        """Append bytes (or text); one unit a byte. Returns how many."""
        self._need(writing=True)
        raw = data.encode() if isinstance(data, str) else bytes(data)
        if self._fs.used() + len(raw) > self._fs.capacity:
            raise OSError(ENOSPC)
        done = self._fs.units_before_cut(len(raw))
        self._data += raw[:done]
        if self._fs.is_harsh:
            self._landed()
        if done < len(raw):
            if self._fs.is_harsh:
                self._fs.damage(self._path)
            raise PowerCut(f"writing {self._path}")
        return len(data)

    def flush(self) -> None:
        """Bring what was written to the medium."""
        self._need(writing=True)
        self._fs.operation(self._landed, self._path)

    def close(self) -> None:
        """Flush and end. A file left open by a power cut closes without any effect."""
        if not self._is_open:
            return
        self._is_open = False
        if self._is_writing and self._fs.powered:
            self._fs.operation(self._landed, self._path)

    def read(self, size: int = -1) -> str | bytes:
        """The next `size` bytes (all: -1), as text unless the mode has a b."""
        self._need(writing=False)
        return self._take(len(self._data) if size < 0 else self._at + size)

    def readline(self, size: int = -1) -> str | bytes:
        """The next line with its end, at most `size` bytes (-1: no limit)."""
        self._need(writing=False)
        end = self._data.find(b"\n", self._at) + 1 or len(self._data)
        return self._take(end if size < 0 else min(end, self._at + size))

    def _take(self, end):
        raw = bytes(self._data[self._at : end])
        self._at += len(raw)
        return raw if self._is_binary else raw.decode()

    def __iter__(self) -> Iterator[str | bytes]:
        return iter(self.readline, b"" if self._is_binary else "")

    def __enter__(self) -> SimFile:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()


class SimOs:
    """Stands in for the module `os`, with what MicroPython's has and nothing more."""

    def __init__(self, fs: SimFS) -> None:
        self._fs = fs

    def listdir(self, path: str = "") -> list[str]:
        """Names in a folder."""
        return [entry[0] for entry in self.ilistdir(path)]

    def ilistdir(self, path: str = "") -> Iterator[tuple[str, int, int, int]]:
        """Yield (name, type, inode 0, size) for a folder."""
        fs, path = self._fs, plain(path)
        if path not in fs.folders:
            raise OSError(ENOENT)
        for entry in sorted(fs.folders - {""}):
            if parent(entry) == path:
                yield entry.rsplit("/", 1)[-1], DIRECTORY, 0, 0
        for entry in sorted(fs.files):
            if parent(entry) == path:
                yield entry.rsplit("/", 1)[-1], REGULAR, 0, len(fs.files[entry])

    def stat(self, path: str) -> tuple[int, ...]:
        """Ten numbers as MicroPython gives them: [0] the type, [6] the size in bytes."""
        self._fs.need_power()
        path = plain(path)
        if path in self._fs.folders:
            return (DIRECTORY, 0, 0, 0, 0, 0, 0, 0, 0, 0)
        if path not in self._fs.files:
            raise OSError(ENOENT)
        return (REGULAR, 0, 0, 0, 0, 0, len(self._fs.files[path]), 0, 0, 0)

    def statvfs(self, path: str = "") -> tuple[int, ...]:
        """Ten numbers: block size twice, blocks in all, blocks free (twice), ..., longest name."""
        block = self._fs.block
        free = (self._fs.capacity - self._fs.used()) // block
        return (block, block, self._fs.capacity // block, free, free, 0, 0, 0, 0, 255)

    def mkdir(self, path: str) -> None:
        """Make a folder."""
        path = plain(path)
        if path in self._fs.folders or path in self._fs.files:
            raise OSError(EEXIST)
        if parent(path) not in self._fs.folders:
            raise OSError(ENOENT)
        self._fs.operation(lambda: self._fs.folders.add(path), path)

    def rename(self, source: str, target: str) -> None:
        """Move a file; an existing target is replaced (in one step on littlefs)."""
        fs, source, target = self._fs, plain(source), plain(target)
        fs.need_power()
        if source not in fs.files or parent(target) not in fs.folders:
            raise OSError(ENOENT)

        def move():
            fs.files[target] = fs.files.pop(source)

        if fs._keep == "truncated":  # FAT: the target is unlinked first, and there it stopped
            fs.operation(move, "", cut=lambda: fs.files.pop(target, None))
        else:
            fs.operation(move, target)

    def remove(self, path: str) -> None:
        """Delete a file."""
        path = plain(path)
        self._fs.need_power()
        if path not in self._fs.files:
            raise OSError(ENOENT)
        self._fs.operation(lambda: self._fs.files.pop(path), path)

    unlink = remove


def plain(path: str) -> str:
    """A path without leading and doubled slashes: "" is the root."""
    return "/".join(part for part in path.split("/") if part not in ("", "."))


def parent(path: str) -> str:
    """The folder that a plain path is in."""
    return path.rpartition("/")[0]
