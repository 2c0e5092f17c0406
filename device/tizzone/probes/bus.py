"""Buses of the probes: made once from the pin map, shared, and spoken to without an exception or allocation.

A bus error (OSError: nobody acknowledges, the peripheral gave up) is an answer like any other: the drivers
turn it into a fault.
"""

from tizzone.probes.reading import SILENT, STUCK, WRONG_CHIP


def spi_bus(bus, phase, baudrate, buses):
    """The SPI bus of {"spi": id, "sck": n, "miso": n, "mosi": n or absent}, kept in the caller's dict.

    Without "spi" it is made in software on any pins.

    Raises ValueError when two chips on one bus need different clock phases.
    """
    from machine import SPI, Pin, SoftSPI

    key = "spi%d" % bus["spi"] if "spi" in bus else "spi-%d" % bus["sck"]
    if key in buses:
        if buses[key][1] != phase:
            raise ValueError("%s: chips of different clock phase cannot share a bus" % key)
        return buses[key][0]
    mosi = bus.get("mosi")
    if mosi is None and (phase or "spi" not in bus):
        # A chip with registers must be written to; MicroPython's software bus wants all three pins.
        raise ValueError("%s: mosi must be named" % key)
    pins = {"sck": Pin(bus["sck"]), "miso": Pin(bus["miso"])}
    pins["mosi"] = None if mosi is None else Pin(mosi)
    if "spi" in bus:
        made = SPI(bus["spi"], baudrate=baudrate, polarity=0, phase=phase, **pins)
    else:
        made = SoftSPI(baudrate=baudrate, polarity=0, phase=phase, **pins)
    buses[key] = (made, phase)
    return made


def i2c_bus(bus, buses):
    """The I2C bus of {"i2c": id, "sda": n, "scl": n} at 100 kHz (the MCP9600's limit), kept in `buses`."""
    from machine import I2C, Pin, SoftI2C

    key = "i2c%d" % bus["i2c"] if "i2c" in bus else "i2c-%d" % bus["scl"]
    if key not in buses:
        scl, sda = Pin(bus["scl"]), Pin(bus["sda"])
        if "i2c" in bus:
            made = I2C(bus["i2c"], scl=scl, sda=sda, freq=100000)
        else:
            made = SoftI2C(scl, sda, freq=100000)
        buses[key] = (made, 0)
    return buses[key][0]


def shift(spi, cs, out, buf):
    """One selection: `out` to the chip while `buf` fills (out None: read only). False on a bus error."""
    cs(0)
    try:
        if out is None:
            spi.readinto(buf)
        else:
            spi.write_readinto(out, buf)
        return True
    except OSError:
        return False
    finally:
        cs(1)


def read_register(i2c, address, register, buf):
    """Read `buf` from a register. False when nobody acknowledges."""
    try:
        i2c.readfrom_mem_into(address, register, buf)
        return True
    except OSError:
        return False


def write_register(i2c, address, buf):
    """Write `buf`, register number first. False when nobody acknowledges.

    (`writeto_mem` would do, but the ports join its two parts in a buffer from the heap: from memory.)
    """
    try:
        i2c.writeto(address, buf)
        return True
    except OSError:
        return False


def echo_fault(buf):
    """What an answer says that does not repeat the settings: SILENT, STUCK, else WRONG_CHIP.

    The first byte, shifted while the address goes out, has no meaning.
    """
    ones = zeros = True
    for i in range(1, len(buf)):
        ones = ones and buf[i] == 0xFF
        zeros = zeros and buf[i] == 0
    return SILENT if ones else STUCK if zeros else WRONG_CHIP


def signed(value, bits):
    """Two's complement number of an unsigned one."""
    return value - (1 << bits) if value >> (bits - 1) & 1 else value
