"""Which serial port, and one sentence for one that does not open: for every command that talks to a board."""

import errno
import os
from typing import Any

from host.link import PortError

BAUD = 115_200
BRIDGES = (0x10C4, 0x1A86, 0x0403, 0x303A, 0x2E8A, 0xF055)  # USB vendors of boards and of their serial chips


def attached() -> list[Any]:
    """Serial ports with a USB identity that are there now, as pyserial describes them (device, vid, product ...)."""
    from serial.tools import list_ports

    return sorted((port for port in list_ports.comports() if port.vid is not None), key=lambda port: port.device)


def described(port: Any) -> str:
    """One port in words: device, serial number, product."""
    return " ".join(str(part) for part in (port.device, port.serial_number, port.product) if part)


def choose(name: str | None = None) -> str:
    """The port that is named, else the only board that is plugged in; PortError with what to do otherwise."""
    if name:
        return name
    found = attached()
    likely = [port for port in found if port.vid in BRIDGES] or found
    if not likely:
        raise PortError(
            "no board found on USB: plug it in (a data cable, through the isolator), or name its port with --port"
        )
    if len(likely) > 1:
        listed = "; ".join(described(port) for port in likely)
        raise PortError(f"{len(likely)} boards are plugged in ({listed}): say which with --port")
    return likely[0].device


def open_port(name: str, timeout_s: float = 0.05) -> Any:
    """A pyserial port, exclusively ours; PortError in one line."""
    import serial

    try:
        return serial.Serial(name, BAUD, timeout=timeout_s, write_timeout=1.0, exclusive=True)
    except (OSError, ValueError) as error:  # serial.SerialException is an OSError
        raise PortError(why_not(name, error)) from None


def why_not(name: str, error: BaseException) -> str:
    """The sentence for a port that does not open: what is wrong and what to do."""
    code = getattr(error, "errno", None)
    text = str(error).lower()
    if code == errno.ENOENT or any(words in text for words in ("no such file", "could not find", "cannot find",
                                                               "filenotfound")):  # fmt: skip
        listed = "; ".join(described(port) for port in attached()) or "none"
        return f"{name}: no such port; boards plugged in: {listed}"
    if code == errno.EACCES and os.name == "posix":
        return f"{name}: not permitted: join the group that owns it (often dialout), then log in anew"
    if code in (errno.EBUSY, errno.EAGAIN, errno.EACCES) or any(
        words in text for words in ("exclusively lock", "busy", "access is denied", "zugriff")
    ):
        return f"{name}: busy: another program has it open; close that one (watch, mpremote, an editor's terminal)"
    if code in (errno.ENOTTY, errno.EINVAL, errno.ENODEV) or "inappropriate ioctl" in text:
        return f"{name}: not a serial port"
    return f"{name}: cannot be opened ({' '.join(str(error).split())})"
