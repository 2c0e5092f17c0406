"""A flash image of a Pico: the firmware's UF2 file, and the files of a board in its littlefs.

Where MicroPython's rp2 port keeps its files on a Pico: the last 1408 kB of 2 MB, blocks of 4 kB, read size 32, program
size 256 (ports/rp2: mpconfigport.h and rp2_flash.c; from memory, and checked by the firmware mounting what this makes).
"""

import os
import struct
from pathlib import Path

FLASH_BYTES = 2 << 20
FILES_BYTES = 1408 << 10
FILES_AT = FLASH_BYTES - FILES_BYTES
BLOCK = 4096
SETTING = "TIZZONE_PICO"


class NoFirmware(Exception):
    """Firmware, boot ROM, emulator or littlefs is missing: one line that says which."""


def firmware():
    """(UF2 file, boot ROM file) in the folder that the environment variable TIZZONE_PICO names."""
    folder = os.environ.get(SETTING)
    if not folder:
        raise NoFirmware(f"no firmware of a Pico: {SETTING} names no folder with an RPI_PICO .uf2 and a boot ROM .bin")
    found = [sorted(Path(folder).glob(pattern)) for pattern in ("RPI_PICO-*.uf2", "bootrom*.bin")]
    if not all(found):
        raise NoFirmware(f"{SETTING} names a folder without an RPI_PICO-*.uf2 and a bootrom*.bin")
    return found[0][-1], found[1][-1]


def from_uf2(path):
    """2 MB of flash as the UF2 file leaves it (UF2 specification: 512-byte blocks, two magic numbers in front)."""
    data = Path(path).read_bytes()
    flash = bytearray(b"\xff" * FLASH_BYTES)
    for at in range(0, len(data) - 511, 512):
        first, second, flags, address, count = struct.unpack_from("<5I", data, at)
        if (first, second) != (0x0A324655, 0x9E5D5157):
            raise NoFirmware(f"{Path(path).name} is no UF2 file")
        target = address - 0x1000_0000
        if not flags & 1 and 0 <= target <= FLASH_BYTES - count:
            flash[target : target + count] = data[at + 32 : at + 32 + count]
    return flash


class Files:
    """The file system in an image; `keep()` puts it back."""

    def __init__(self, flash, fresh=False):
        try:
            from littlefs import LittleFS, UserContext
        except ImportError:
            raise NoFirmware("littlefs-python is missing: pip install littlefs-python") from None
        self._flash = flash
        context = UserContext(0)
        context.buffer = bytearray(flash[FILES_AT:])
        self._buffer = context.buffer
        self.fs = LittleFS(
            context=context, block_size=BLOCK, block_count=FILES_BYTES // BLOCK, read_size=32, prog_size=256,
            cache_size=256, lookahead_size=32, block_cycles=100, mount=False,
        )  # fmt: skip
        if fresh:
            self.fs.format()
        self.fs.mount()

    def put(self, path, data):
        """Write a file, its folders included."""
        folder = path.rpartition("/")[0]
        if folder:
            self.fs.makedirs("/" + folder, exist_ok=True)
        with self.fs.open("/" + path, "wb") as file:
            file.write(data)

    def all(self):
        """{path: bytes} of every file."""
        found = {}
        for folder, _, names in self.fs.walk("/"):
            for name in names:
                path = f"{folder.rstrip('/')}/{name}"
                with self.fs.open(path, "rb") as file:
                    found[path[1:]] = file.read()
        return found

    def keep(self):
        """The image with these files in it."""
        self._flash[FILES_AT:] = self._buffer
        return self._flash


def loaded(plan, more=None):
    """An image with a deploy plan's files on it, and `more` {path: bytes, None = left out} over them."""
    files = Files(from_uf2(firmware()[0]), fresh=True)
    board = {file.path: file.data for file in plan.files} if plan else {}
    for path, data in {**board, **(more or {})}.items():
        if data is not None:
            files.put(path, data)
    return files.keep()


def files_of(flash):
    """{path: bytes} of an image."""
    return Files(bytearray(flash)).all()
