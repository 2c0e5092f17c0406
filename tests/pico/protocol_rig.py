"""pyserial's handler of `rig://NAME`: the USB port of a Rig, in emulated time (see cable.py)."""

from serial.serialutil import SerialBase, SerialException

STEP_S = 0.002
LATENCY_S = 30.0  # emulated: a read without a timeout gives up all the same
PORTS = {}  # name -> Cable


class Serial(SerialBase):
    """What mpremote asks of a port. It is gone while the board's USB is, as the device file would be."""

    def open(self):
        """Wait for nothing: an absent board is a port that does not exist."""
        self._cable = PORTS[self.portstr.partition("://")[2]]
        if not self._cable.rig.now.get("usb"):
            self._cable.rig.run(STEP_S)
        if not self._cable.rig.now["usb"]:
            raise SerialException("could not open port: no such device")
        self._cable.rig.take()
        self._boots = len(self._cable.rig.resets)
        self.is_open = True

    def close(self):
        """Let go."""
        self.is_open = False

    def _reconfigure_port(self):
        pass

    def _update_dtr_state(self):
        pass

    def _update_rts_state(self):
        pass

    def _rig(self):
        rig = self._cable.rig
        if len(rig.resets) != self._boots:
            raise SerialException("device disconnected")
        return rig

    @property
    def in_waiting(self):
        """Bytes that have come."""
        return len(self._rig().raw)

    def read(self, size=1):
        """Up to `size` bytes, within the timeout."""
        rig = self._rig()
        end = rig.t + (LATENCY_S if self.timeout is None else self.timeout)
        while len(rig.raw) < size and rig.t < end:
            rig.run(STEP_S)
            self._rig()
        data, rig.raw = rig.raw[:size], rig.raw[size:]
        return data

    def write(self, data):
        """Send; what the board has not taken in time is a timeout."""
        rig = self._rig()
        rig.send(bytes(data))
        self._cable.wrote += len(data)
        if self._cable.cut_at is not None and self._cable.wrote >= self._cable.cut_at:
            self._cable.cut()
        rig.run(STEP_S)
        return len(data)
