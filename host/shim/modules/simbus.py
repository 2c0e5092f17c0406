"""SPI and I2C of the simulated board's `machine`, for both runtimes."""

import simboard


def _number(pin):
    """The number of a machine.Pin; a number or None as it is."""
    return getattr(pin, "_id", pin)


# Units that programs may open, as the ports have them (machine_spi.c, machine_i2c.c of rp2 and esp32).
_SPI_UNITS = {"rp2040": (0, 1), "rp2350": (0, 1), "esp32": (1, 2), "esp32s3": (1, 2), "esp32c3": (1,)}
_I2C_UNITS = {"rp2040": (0, 1), "rp2350": (0, 1), "esp32": (0, 1), "esp32s3": (0, 1), "esp32c3": (0,)}


class SPI:
    """SPI controller `id`; transfers go to the chip whose select pin is low."""

    MSB = 0
    _RP2 = {  # RP2040 datasheet 1.4.3, GPIO functions: (sck, mosi, miso) of each unit
        0: ((2, 6, 18, 22), (3, 7, 19, 23), (0, 4, 16, 20)),
        1: ((10, 14, 26), (11, 15, 27), (8, 12, 24, 28)),
    }

    def __init__(
        self, id, baudrate=1_000_000, *, polarity=0, phase=0, bits=8, firstbit=0, sck=None, mosi=None, miso=None
    ):
        port = self._port = simboard.port
        pins = (_number(sck), _number(mosi), _number(miso))
        if isinstance(id, bool) or id not in _SPI_UNITS[port.mcu]:
            port.refuse(ValueError, f"SPI({id!r}) does not exist")
        if port.mcu.startswith("rp2"):
            for index in range(3):
                number = pins[index]
                if number is not None and number not in self._RP2[id][index]:
                    port.refuse(ValueError, f"pin {number} cannot serve SPI({id}) there")
        if sck is None:
            port.refuse(ValueError, "name the pins of the bus")
        if bits != 8 or firstbit != 0 or baudrate < 1:
            port.refuse(ValueError, "SPI: 8 bits, MSB first, a baud rate above 0")
        self.mode = (polarity, phase)
        self.baudrate = baudrate
        self._bus = f"spi{id}"
        port.open_bus(self._bus, pins)

    def read(self, nbytes, write=0):
        """`nbytes` read while `write` is sent."""
        return bytes(self._port.transfer(self._bus, None, nbytes))

    def readinto(self, buf, write=0):
        """Fill `buf`."""
        count = len(buf)
        answer = self._port.transfer(self._bus, None, count)
        for index in range(count):
            buf[index] = answer[index]

    def write(self, buf):
        """Send, dropping what comes back."""
        self._port.transfer(self._bus, bytes(buf), len(buf))

    def write_readinto(self, write_buf, read_buf):
        """Send and receive buffers of one length."""
        if len(write_buf) != len(read_buf):
            self._port.refuse(ValueError, "buffers must be the same length")
        answer = self._port.transfer(self._bus, bytes(write_buf), len(read_buf))
        for index in range(len(read_buf)):
            read_buf[index] = answer[index]

    def deinit(self):
        """Close the bus and free its pins."""
        self._port.close_bus(self._bus)


class SoftSPI(SPI):
    """The same on any pins; the bus is named by its clock pin."""

    def __init__(self, baudrate=500_000, *, polarity=0, phase=0, bits=8, firstbit=0, sck, mosi=None, miso=None):
        self._port = simboard.port
        if bits != 8 or firstbit != 0:
            self._port.refuse(ValueError, "SPI: 8 bits, MSB first")
        self.mode = (polarity, phase)
        self.baudrate = baudrate
        self._bus = f"spi-{_number(sck)}"
        self._port.open_bus(self._bus, (_number(sck), _number(mosi), _number(miso)))


class I2C:
    """I2C controller `id`."""

    def __init__(self, id, *, scl=None, sda=None, freq=400_000, timeout=50_000):
        self._port = simboard.port
        if isinstance(id, bool) or id not in _I2C_UNITS[self._port.mcu]:
            self._port.refuse(ValueError, f"I2C({id!r}) does not exist")
        if scl is None or sda is None:
            self._port.refuse(ValueError, "name the pins of the bus")
        if self._port.mcu.startswith("rp2"):
            # RP2040 datasheet 1.4.3, GPIO functions: SDA of unit 0 at 0, 4, 8 ..., SCL one further; unit 1 at 2, 6 ...
            for pin, first in ((sda, 0), (scl, 1)):
                if _number(pin) & 3 != 2 * id + first:
                    self._port.refuse(ValueError, f"pin {_number(pin)} cannot serve I2C({id}) there")
        self._bus = f"i2c{id}"
        self._port.open_bus(self._bus, (_number(scl), _number(sda)))

    def scan(self):
        """Addresses that acknowledge."""
        port = self._port
        port.need_bus(self._bus, "i2c")
        return [n for n in range(8, 0x78) if port.outside.i2c(self._bus, n, b"", 0) is not None]

    def writeto(self, addr, buf, stop=True):
        """Write; the number of bytes acknowledged."""
        self._port.i2c(self._bus, addr, bytes(buf), 0)
        return len(buf)

    def readfrom(self, addr, nbytes, stop=True):
        """Read `nbytes`."""
        return bytes(self._port.i2c(self._bus, addr, b"", nbytes))

    def readfrom_into(self, addr, buf, stop=True):
        """Fill `buf`."""
        answer = self._port.i2c(self._bus, addr, b"", len(buf))
        for index in range(len(buf)):
            buf[index] = answer[index]

    def readfrom_mem(self, addr, memaddr, nbytes, *, addrsize=8):
        """Write the register number, read `nbytes` after a repeated start."""
        return bytes(self._port.i2c(self._bus, addr, self._register(memaddr, addrsize), nbytes))

    def readfrom_mem_into(self, addr, memaddr, buf, *, addrsize=8):
        """The same into `buf`."""
        answer = self._port.i2c(self._bus, addr, self._register(memaddr, addrsize), len(buf))
        for index in range(len(buf)):
            buf[index] = answer[index]

    def writeto_mem(self, addr, memaddr, buf, *, addrsize=8):
        """Write the register number and `buf`."""
        self._port.i2c(self._bus, addr, self._register(memaddr, addrsize) + bytes(buf), 0)

    @staticmethod
    def _register(memaddr, addrsize):
        return bytes([memaddr]) if addrsize == 8 else bytes([memaddr >> 8, memaddr & 255])

    def deinit(self):
        """Close the bus and free its pins."""
        self._port.close_bus(self._bus)


class SoftI2C(I2C):
    """The same on any pins; the bus is named by its clock pin."""

    def __init__(self, scl, sda, *, freq=400_000, timeout=50_000):
        self._port = simboard.port
        self._bus = f"i2c-{_number(scl)}"
        self._port.open_bus(self._bus, (_number(scl), _number(sda)))
