"""sys.stdin, sys.stdout and select.poll of a simulated board's USB port, for both runtimes.

As the real ones behave: text is decoded, so that a byte which is no UTF-8 raises UnicodeError; `buffer` gives bytes; a
port with nobody reading takes ROOM bytes and says that it can be written as long as one of them is free; what does not
fit then blocks for half a second and is lost (shared/tinyusb/mp_usbd_cdc.c and extmod/modselect.c of MicroPython; the
sizes from memory).
"""

ROOM = 256
BLOCKS_US = 500_000
IN, OUT = 1, 4  # select.POLLIN, select.POLLOUT


class Console:
    """Both directions of one Port."""

    def __init__(self, port):
        self.stdin = Input(port)
        self.stdout = Output(port)
        self.poll = Poll


class Input:
    """sys.stdin: text; `buffer`: bytes."""

    def __init__(self, port):
        self._port = port
        self.buffer = self
        self._taken = bytearray(1)

    def ready(self, wanted):
        """What of `wanted` (IN, OUT) holds now."""
        return wanted & IN if len(self._port.rx) else 0

    def readinto(self, buffer):
        """One byte into `buffer`; -1 stands for a read that would block for ever."""
        rx = self._port.rx
        if not rx:
            return -1
        buffer[0] = rx[0]
        self._port.rx = rx[1:]
        return 1

    def read(self, count=1):
        """One character (count 1, as the board reads); UnicodeError where the bytes are none."""
        text = b""
        while self.readinto(self._taken) == 1:
            text += bytes(self._taken)
            first = text[0]
            wanted = 1 if first < 0xC0 else 2 if first < 0xE0 else 3 if first < 0xF0 else 4
            if len(text) >= wanted or (len(text) > 1 and text[-1] & 0xC0 != 0x80):
                break
        return str(text, "utf-8")


class Output:
    """sys.stdout: text; `buffer`: bytes. Never waits for a reader longer than the real one does."""

    def __init__(self, port):
        self._port = port
        self.buffer = Bytes(self)
        self.free = ROOM

    def _drain(self):
        if self._port.can_write():
            self.free = ROOM

    def ready(self, wanted):
        """What of `wanted` (IN, OUT) holds now."""
        self._drain()
        return wanted & OUT if self.free else 0

    def write(self, text):
        """Send text."""
        return self.send(text.encode())

    def send(self, data):
        """Send bytes; with nobody reading only what there is room for, after half a second for the rest."""
        self._drain()
        if self._port.can_write():
            self._port.outside.serial_out(bytes(data))
            return len(data)
        taken = min(self.free, len(data))
        self.free -= taken
        if taken < len(data):
            self._port.sleep_us(BLOCKS_US)
        return len(data)


class Bytes:
    """sys.stdout.buffer."""

    def __init__(self, output):
        self._output = output

    def write(self, data):
        """Send bytes."""
        return self._output.send(data)


class Poll:
    """select.poll on the two streams above."""

    def __init__(self):
        self._watched = []

    def register(self, stream, wanted):
        """Watch a stream."""
        self._watched.append((stream, wanted))

    def ipoll(self, timeout_ms=-1):
        """Yield (stream, what holds) of each that is ready; never waits."""
        for stream, wanted in self._watched:
            ready = stream.ready(wanted)
            if ready:
                yield stream, ready

    def poll(self, timeout_ms=-1):
        """The same as a list."""
        return [pair for pair in self.ipoll(timeout_ms)]
