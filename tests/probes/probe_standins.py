"""Small stand-ins for the clock, the world, the bus and the select pin."""


class Clock:
    """Microseconds that move when told to."""

    def __init__(self):
        self.us = 0

    def now_us(self):
        return self.us


class World:
    """Temperatures of the tip and of the chip, °C; bound methods go to the fake chips."""

    def __init__(self, hot_c=20.0, cold_c=25.0):
        self.hot_c = hot_c
        self.cold_c = cold_c

    def hot(self):
        return self.hot_c

    def cold(self):
        return self.cold_c


class Wire:
    """Stand-in for machine.SPI with one fake chip on it."""

    def __init__(self, chip):
        self.chip = chip

    def readinto(self, buf, write=0):
        buf[:] = self.chip.transfer(None, len(buf))

    def write_readinto(self, out, buf):
        buf[:] = self.chip.transfer(bytes(out), len(buf))

    def write(self, out):
        self.chip.transfer(bytes(out), len(out))


class Select:
    """Stand-in for the chip-select Pin; keeps the levels that were set."""

    def __init__(self):
        self.levels = []

    def __call__(self, level):
        self.levels.append(level)


class Wires:
    """Stand-in for machine.I2C with fake chips by address; nobody there: OSError."""

    def __init__(self, **chips):
        self.chips = {int(name[1:], 16): chip for name, chip in chips.items()}  # x67=chip

    def _chip(self, address):
        if address not in self.chips:
            raise OSError(5)
        return self.chips[address]

    def readfrom_mem_into(self, address, register, buf):
        chip = self._chip(address)
        chip.i2c_write(bytes([register]))
        buf[:] = chip.i2c_read(len(buf))

    def writeto(self, address, buf):
        self._chip(address).i2c_write(bytes(buf))
