"""What must outlive a power cut: settings, trip latch, session, counters, commissioning, a log.

Every name has two copies, `<name>.a` and `<name>.b`, written in turn. A copy is one line:

    TZ1 <sequence, 4 digits> <CRC-32 of "name sequence payload", 8 hex> {"v": 1, "value": ...}

A save writes `<name>.tmp`, flushes, closes, reads it back, then renames it over the OLDER copy:
the newest copy is never touched, so a cut at any byte leaves the old or the new state. `load`
says how sure it is:

    ok        both copies whole and in sequence, no save was cut short: the last value saved
    one_copy  the value is whole, but a copy is missing or damaged, or a save did not finish:
              the value MAY be the one before the last
    damaged   something is stored (or a first save was cut) but nothing is whole: value None
    missing   nothing is stored under this name: value None

What the caller must make of it. "latch": everything but `ok` means latched, whatever the value
says (`missing` too, unless the board was never commissioned): the copy that is gone may have held
the trip. "settings", "commission": `one_copy` may be used and is reported; `damaged` means no
heat. "session", "counters": `one_copy` may be used; otherwise start anew and say so. Saving what
was decided heals the copies. The sequence wraps at 10,000 and is compared as RFC 1982 does.
"""

import io
import json
import os

try:
    from binascii import crc32
except ImportError:  # a port built without it

    def crc32(data):
        """CRC-32 of ISO-HDLC (reflected, 0xEDB88320), bit by bit; works on bytes."""
        crc = 0xFFFFFFFF
        for byte in data:
            crc ^= byte
            for _ in range(8):
                crc = (crc >> 1) ^ (0xEDB88320 if crc & 1 else 0)
        return crc ^ 0xFFFFFFFF


VERSION = 1
# (name, version, function): function turns a value of that version into the next one's; oldest
# first. A name without an entry did not change.
MIGRATIONS = ()
MAX_BYTES = 2048  # of payload
LOG_BYTES = 4096  # each of the two log files
LOG_LINE = 160  # characters
_WRAP = 10000
_HEADER = 18  # "TZ1 ssss cccccccc "
_ENOENT = 2
_EIO = 5
_MISSING = "missing"


class StoreError(OSError):
    """The medium refused a write; what was stored before is still there."""


class Store:
    """Named values and a log in `folder` ("" = the board's root)."""

    def __init__(self, folder=""):
        self._root = folder + "/" if folder else ""
        self._fresh_line = True
        if folder:
            try:
                os.mkdir(folder)
            except OSError:
                pass  # it is there already; if it cannot be made, save() says so

    def load(self, name):
        """-> (value or None, "ok" | "one_copy" | "damaged" | "missing"); it never raises."""
        copies = self._copies(name)
        cut_short = exists(self._root + name + ".tmp")
        newest = _newest(copies)
        if newest is None:
            gone = copies[0] is _MISSING and copies[1] is _MISSING and not cut_short
            return None, "missing" if gone else "damaged"
        sure = not cut_short and _in_sequence(copies)
        return copies[newest][1], "ok" if sure else "one_copy"

    def save(self, name, value):
        """Keep `value` under `name`; an unchanged value costs no flash write.

        Raises StoreError if the medium refuses, ValueError for a value over 2 kB or not JSON's."""
        if not _fits(value, 8):
            raise ValueError("store: %s: not a plain value" % name)
        payload = '{"v": %d, "value": %s}' % (VERSION, json.dumps(value))
        if len(payload.encode()) > MAX_BYTES:
            raise ValueError("store: %s: over %d bytes" % (name, MAX_BYTES))
        copies = self._copies(name)
        newest = _newest(copies)
        if newest is None:
            # Both copies at the first save, so that a copy found missing later is a sign of loss.
            self._replace(name, 0, 0, payload)
            self._replace(name, 1, 1, payload)
            return
        settled = _in_sequence(copies) and not exists(self._root + name + ".tmp")
        if not settled or copies[newest][2] != payload:
            self._replace(name, 1 - newest, (copies[newest][0] + 1) % _WRAP, payload)

    def log(self, text):
        """Append one line to the event log (printable ASCII, 160 characters); False if refused.

        Two files of at most 4 kB: when `log.a` is full it becomes `log.b`. Never raises: a lost
        line is no reason to stop. Not for use while heat is permitted: a flash write stalls."""
        line = _printable(text.encode()[:LOG_LINE]) + "\n"
        if self._fresh_line:
            line = "\n" + line  # the line before may have been cut
        path = self._root + "log.a"
        try:
            if exists(path) and os.stat(path)[6] + len(line) > LOG_BYTES:
                os.rename(path, self._root + "log.b")
            with io.open(path, "ab") as file:
                file.write(line.encode())
        except OSError:
            return False
        self._fresh_line = False
        return True

    def read_log(self):
        """Yield the lines of the event log, oldest first; what cannot be read is left out."""
        for path in (self._root + "log.b", self._root + "log.a"):
            try:
                with io.open(path, "rb") as file:
                    for _ in range(LOG_BYTES):
                        line = file.readline(LOG_LINE + 1)
                        if not line:
                            break
                        line = line.rstrip(b"\n")
                        if line:
                            yield _printable(line)
            except OSError:
                continue

    def _copies(self, name):
        """Both copies: (sequence, value, payload), None if damaged, _MISSING if not there."""
        return [self._read(name, self._root + name + end) for end in (".a", ".b")]

    def _read(self, name, path):
        try:
            # only as much as there is: a board that has run for hours may have no 2 kB in one piece
            size = min(os.stat(path)[6], _HEADER + MAX_BYTES + 1)
            with io.open(path, "rb") as file:
                raw = file.read(size)
        except OSError as error:
            return _MISSING if error.args[0] == _ENOENT else None
        try:
            sequence = int(raw[4:8])
            payload = str(raw[_HEADER:], "utf-8")
            if raw != _line(name, sequence, payload):
                return None
            data = json.loads(payload)
            return sequence, _migrate(name, data["v"], data["value"]), payload
        except (ValueError, TypeError, LookupError, RuntimeError):
            return None  # RuntimeError: nested too deep

    def _replace(self, name, slot, sequence, payload):
        """Put a new copy into a slot; once more without the slot's old copy if that is refused.

        The slot would be overwritten anyway: giving it up makes room on a full medium, and
        if even that does not help, its absence tells the next load() that a save failed."""
        path = self._root + name + (".a", ".b")[slot]
        line = _line(name, sequence, payload)
        try:
            self._put(name, path, line)
        except OSError:
            try:
                if exists(path):
                    os.remove(path)
                self._put(name, path, line)
            except OSError as error:
                raise StoreError(error.args[0], "store: %s: not saved" % name)

    def _put(self, name, path, line):
        temporary = self._root + name + ".tmp"
        with io.open(temporary, "wb") as file:
            file.write(line)
            file.flush()
        with io.open(temporary, "rb") as file:
            if file.read() != line:
                raise OSError(_EIO)
        os.rename(temporary, path)


def exists(path):
    """Whether there is something at `path`; also True if that cannot be told."""
    try:
        os.stat(path)
    except OSError as error:
        return error.args[0] != _ENOENT
    return True


def _line(name, sequence, payload):
    text = "%04d %s" % (sequence, payload)
    checked = ("%s %s" % (name, text)).encode()
    return ("TZ1 %04d %08X %s" % (sequence, crc32(checked) & 0xFFFFFFFF, payload)).encode()


def _newest(copies):
    """Index of the newest whole copy, or None."""
    a, b = copies
    if not isinstance(a, tuple):
        return 1 if isinstance(b, tuple) else None
    if not isinstance(b, tuple):
        return 0
    return 1 if 0 < (b[0] - a[0]) % _WRAP < _WRAP // 2 else 0


def _in_sequence(copies):
    """Whether both copies are whole and one follows the other, as normal saving leaves them."""
    a, b = copies
    if not (isinstance(a, tuple) and isinstance(b, tuple)):
        return False
    return (a[0] - b[0]) % _WRAP in (1, _WRAP - 1)


def _migrate(name, version, value):
    """`value` brought up to VERSION; ValueError if it is from a version we do not know."""
    if not 1 <= version <= VERSION:
        raise ValueError("version")
    for of, since, function in MIGRATIONS:
        if of == name and since >= version:
            value = function(value)
    return value


def _fits(value, depth):
    """Whether JSON carries `value` unharmed on both runtimes (no NaN, no infinity, str keys)."""
    if value is None or isinstance(value, (bool, int, str)):
        return True
    if isinstance(value, float):
        return value - value == 0
    if depth and isinstance(value, dict):
        keys_fit = all(isinstance(key, str) for key in value)
        return keys_fit and _fits(list(value.values()), depth - 1)
    if depth and isinstance(value, (list, tuple)):
        return all(_fits(item, depth - 1) for item in value)
    return False


def _printable(data):
    return "".join(chr(byte) if 32 <= byte < 127 else "?" for byte in data)
