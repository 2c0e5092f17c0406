"""Which port: the one that is named, or the only one there is."""

import errno
import os

from host.deploy import PortError

BRIDGES = (0x10C4, 0x1A86, 0x0403, 0x303A, 0x2E8A, 0xF055)  # USB vendors of boards and of their serial chips


def described(found):
    """One port in words: device, serial number, product."""
    return " ".join(str(part) for part in (found.device, found.serial_number, found.product) if part)


def attached():
    """USB serial ports that are there now."""
    from serial.tools import list_ports

    return sorted((p for p in list_ports.comports() if p.vid is not None), key=lambda p: p.device)


def choose(name=None, found=None):
    """The port to use; PortError with what to do for none and for several. `found`: ports as attached() gives."""
    if name:
        return name
    ports = attached() if found is None else found
    likely = [p for p in ports if p.vid in BRIDGES] or ports
    if not likely:
        raise PortError("no board found: plug it in with a data cable, or say --port (mpremote connect list shows all)")
    if len(likely) > 1:
        raise PortError("several boards found, say --port: " + "; ".join(described(p) for p in likely))
    return likely[0].device


def why_not(name, error):
    """One line for a port that does not open."""
    code = getattr(error, "errno", None)
    text = str(error).lower()
    if code == errno.ENOENT or "could not find" in text or "no such file" in text or "filenotfound" in text:
        return f"{name}: no such port; mpremote connect list shows what is there"
    if code == errno.EACCES and os.name == "posix":
        return f"{name}: no right to open it; join the group that owns it (often dialout) and log in again"
    if code in (errno.EBUSY, errno.EAGAIN, errno.EACCES) or "exclusively lock" in text or "access is denied" in text:
        return f"{name}: another program has it open; close watch, mpremote or the editor's serial window"
    if code in (errno.ENOTTY, errno.EINVAL, errno.ENODEV) or "inappropriate ioctl" in text:
        return f"{name}: not a serial port"
    return f"{name}: cannot be opened ({' '.join(str(error).split())})"
