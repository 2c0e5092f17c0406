"""The laptop's end of the line protocol: one question, one checked reply, over a serial port or a simulated board.

    with open_board("/dev/ttyACM0") as board:        LinkError says in one line what to do
        board.ask("status")                          "ok pv_mc=..." or "no <reason>"
        board.wait(1.0)                              wall seconds here, simulated ones on a simulated board

A reply is believed only with its mark and checksum; boot noise, tracebacks and damaged lines are skipped. Questions
are repeated, acts never: an act whose reply was lost may have been done.
"""

import time

from host.simulator.rehearsal import crc16, with_checksum

BAUD = 115_200
REPLY_S = 2.0  # a board reads one line a tick (250 ms); a flash write may take longer
QUESTIONS = ("status", "alarms", "permissives", "version", "log")
LONGEST = 4096  # bytes without a line end: not our board


class LinkError(Exception):
    """No use of the link: one line, what is wrong and what to do."""


class LinkLost(LinkError):
    """The port was there and has gone, or nobody answers any more; it may come back."""


def unframed(line):
    """The text of a reply line, or None for anything that is no whole reply of a board."""
    text, star, check = line.rpartition("*")
    if not star or not text.startswith("~") or len(check) != 4:
        return None
    try:
        return text[1:] if int(check, 16) == crc16(text[1:]) else None
    except ValueError:
        return None


def is_question(line):
    """Asking changes nothing on the board."""
    words = line.split()
    if not words:
        return False
    return words[0] in QUESTIONS or words == ["witness"] or words[:2] == ["witness", "step"]


class LineClient:
    """Speaks over `port`: any object with write(bytes), read(count) -> bytes (b"" after a short time) and close().

    `clock` and `sleep`: seconds; replaced in tests."""

    def __init__(self, port, reply_s=REPLY_S, clock=time.monotonic, sleep=time.sleep):
        self.port = port
        self.reply_s = reply_s
        self.clock = clock
        self.sleep = sleep
        self.skipped = 0  # lines that were no replies
        self._rest = b""
        self._syncs = 0
        self._is_unsure = False  # a reply is overdue and may still come: it must not be taken for the next one

    @property
    def now_s(self):
        """Seconds of the clock that `wait` follows."""
        return self.clock()

    def wait(self, seconds):
        """Let time pass."""
        self.sleep(max(0.0, seconds))

    def ask(self, line):
        """Send one line and return its reply without mark and checksum; LinkLost if none comes."""
        for attempt in range(3 if is_question(line) else 1):
            reply = self._once(line)
            if reply is not None and not (attempt < 2 and is_question(line) and reply.startswith("no checksum")):
                return reply
        raise LinkLost(f"no reply to '{line.split(' ')[0]}': is the program running? Press the board's reset")

    def _once(self, line):
        try:
            self._drain()
            if self._is_unsure:
                # The board answers in order and repeats a name that it does not know: what came before is overdue.
                self._syncs += 1
                mark = f"sync{self._syncs}"
                self._is_unsure = self._exchange(f"setting {mark} 0", lambda reply: f" {mark} " in reply) is None
            reply = None if self._is_unsure else self._exchange(line, lambda reply: True)
        except OSError as error:  # serial.SerialException is one
            raise LinkLost(f"the port has gone ({error.strerror or error})") from None
        self._is_unsure = reply is None
        return reply

    def _exchange(self, line, is_ours):
        """Send a line; the first whole reply that `is_ours` takes, None if it does not come in time."""
        self.port.write((with_checksum(line) + "\n").encode("ascii", "replace"))
        until = self.clock() + self.reply_s
        while self.clock() < until:
            for text in self._lines():
                reply = unframed(text)
                if reply is None:
                    self.skipped += 1
                elif is_ours(reply):
                    return reply
        return None

    def _drain(self):
        """Forget late replies: each belongs to an earlier question."""
        self._rest = b""
        for _ in range(64):
            if not getattr(self.port, "in_waiting", 0):
                return
            self.port.read(self.port.in_waiting)

    def _lines(self):
        self._rest += self.port.read(max(1, getattr(self.port, "in_waiting", 0)))
        *lines, self._rest = self._rest.split(b"\n")
        if len(self._rest) > LONGEST:
            self._rest = b""
        return [raw.decode("ascii", "replace").strip("\r") for raw in lines]

    def close(self):
        """Let the port go."""
        try:
            self.port.close()
        except OSError:  # it has gone already
            self.port = None

    def __enter__(self):
        return self

    def __exit__(self, *exception):
        self.close()


class SimulatedClient:
    """The same over a Rehearsal; time is the rehearsal's, `speed` times the wall's where somebody watches."""

    def __init__(self, rehearsal, speed=1.0, sleep=None):
        self.rehearsal = rehearsal
        self.speed = speed
        self.sleep = sleep  # None: simulated time costs no wall time
        self.skipped = 0

    @property
    def now_s(self):
        """Simulated seconds since power-up."""
        return self.rehearsal.now_s

    def wait(self, seconds):
        """Let simulated time pass."""
        self.rehearsal.advance(seconds * self.speed)
        if self.sleep is not None:
            self.sleep(max(0.0, seconds))

    def ask(self, line):
        """As LineClient.ask."""
        reply = self.rehearsal.send(line)
        if not reply:
            raise LinkLost(f"no reply to '{line.split(' ')[0]}': the simulated board does not run its program")
        return reply[1:]

    def close(self):
        """End the rehearsal."""
        self.rehearsal.close()

    def __enter__(self):
        return self

    def __exit__(self, *exception):
        self.close()


def ports():
    """[(device, description)] of the serial ports with a USB identity, as the system lists them."""
    from serial.tools import list_ports

    return [(port.device, port.description or "") for port in sorted(list_ports.comports()) if port.vid is not None]


def only_port():
    """The one board that is plugged in; LinkError for none or several."""
    found = ports()
    if not found:
        raise LinkError("no board found on USB: plug it in (through the isolator), or say --port, or --simulated")
    if len(found) > 1:
        listed = ", ".join(device for device, _ in found)
        raise LinkError(f"{len(found)} boards are plugged in ({listed}): say which with --port")
    return found[0][0]


def open_port(name):
    """A pyserial port, exclusively ours; LinkError in one line."""
    import serial

    try:
        return serial.Serial(name, BAUD, timeout=0.05, write_timeout=1.0, exclusive=True)
    except (serial.SerialException, OSError, ValueError) as error:
        raise LinkError(f"{name}: {port_fault(error)}") from None


def port_fault(error):
    """What to do about a port that does not open."""
    text = str(error).lower()
    number = getattr(error, "errno", None)
    if "exclusively lock" in text or "busy" in text or number in (11, 16):
        return "busy: another program holds it; close that one (mpremote, an editor's terminal, another watch)"
    if number == 13 and ("access is denied" in text or "zugriff" in text):
        return "busy or refused: close the other program that holds it"
    if number == 13 or "permission" in text:
        return "not permitted: your user must be in the group that owns serial ports (often dialout), then log in anew"
    if number == 2 or "no such file" in text or "cannot find" in text or "filenotfound" in text:
        listed = ", ".join(device for device, _ in ports()) or "none"
        return f"no such port; boards plugged in: {listed}"
    return f"cannot be opened as a serial port ({getattr(error, 'strerror', None) or error})"


def open_board(name=None, reply_s=REPLY_S):
    """A LineClient that a Tizzone board has answered; LinkError in one line otherwise."""
    name = name or only_port()
    client = LineClient(open_port(name), reply_s)
    try:
        reply = client.ask("version")
    except LinkLost as error:
        client.close()
        raise LinkError(
            f"{name}: opens, but no controller answers ({error}); or load the board first: tizzone deploy"
        ) from None
    if "version=" not in reply:
        client.close()
        raise LinkError(f"{name}: something answers, but not our program: load the board with tizzone deploy")
    return client
