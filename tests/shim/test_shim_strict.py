"""What hardware refuses, the simulated board refuses too; what hardware lets pass to its harm, as well."""

import pytest


def refuses(board, kind, words, call, *arguments, **named):
    """The call raises `kind` with these words, and the board remembers it."""
    before = len(board.port.refusals)
    with pytest.raises(kind, match=words):
        call(*arguments, **named)
    assert len(board.port.refusals) == before + 1


def test_pin_input_refuses_to_be_driven(board):
    pin = board.machine.Pin(5, board.machine.Pin.IN, board.machine.Pin.PULL_UP)
    refuses(board, ValueError, "pin 5 is not an output", pin.value, 1)
    refuses(board, ValueError, "pin 5 is not an output", pin.on)


def test_pin_unconfigured_refuses_to_be_read_or_driven(board):
    pin = board.machine.Pin(5)
    refuses(board, ValueError, "pin 5 is not configured", pin.value)
    refuses(board, ValueError, "pin 5 is not an output", pin.value, 1)


def test_pin_floating_refuses_to_be_read(board):
    pin = board.machine.Pin(5, board.machine.Pin.IN)
    refuses(board, ValueError, "pin 5 floats", pin.value)
    board.outside.grounded.add(5)
    assert pin.value() == 0


@pytest.mark.parametrize(("pull", "level"), [("PULL_UP", 1), ("PULL_DOWN", 0)])
def test_pin_open_reads_its_pull(board, pull, level):
    pin = board.machine.Pin(5, board.machine.Pin.IN, getattr(board.machine.Pin, pull))
    assert pin.value() == level


def test_pin_claimed_for_another_job_is_refused(board):
    Pin = board.machine.Pin
    Pin(18, Pin.OUT)
    refuses(board, ValueError, "pin 18 is claimed as out already", Pin, 18, Pin.IN)
    refuses(board, ValueError, "claimed as out already, not spi0", board.machine.SPI, 0, sck=Pin(18), miso=Pin(16))
    Pin(4, Pin.IN, Pin.PULL_UP)
    refuses(board, ValueError, "claimed with pull up", Pin, 4, Pin.IN)
    refuses(board, ValueError, "claimed as in already", board.machine.I2C, 0, sda=Pin(4), scl=Pin(5))


def test_pin_claimed_again_for_the_same_job_keeps_its_level(board):
    Pin = board.machine.Pin
    Pin(10, Pin.OUT, value=1)
    assert Pin(10, Pin.OUT).value() == 1


@pytest.mark.parametrize(
    ("mcu", "number", "mode", "words"),
    [
        ("rp2040", 29, "OUT", None),
        ("rp2040", 30, "OUT", "rp2040 has no pin 30"),
        ("rp2040", -1, "IN", "has no pin"),
        ("esp32", 33, "OUT", None),
        ("esp32", 34, "OUT", "pin 34 can only read"),
        ("esp32", 34, "IN", None),
    ],
)
def test_pin_numbers_of_the_chip_are_kept(make_board, mcu, number, mode, words):
    board = make_board(mcu)
    Pin = board.machine.Pin
    if words is None:
        assert Pin(number, getattr(Pin, mode), Pin.PULL_UP) is not None
        assert board.port.refusals == []
    else:
        refuses(board, ValueError, words, Pin, number, getattr(Pin, mode))


@pytest.mark.parametrize("number", ["LED", 2.0, True, None])
def test_pin_of_another_type_is_refused(board, number):
    refuses(board, TypeError, "a pin is a number", board.machine.Pin, number, 1)


def test_pin_interrupt_is_refused(board):
    pin = board.machine.Pin(5, board.machine.Pin.IN, board.machine.Pin.PULL_UP)
    refuses(board, NotImplementedError, "polled|not for this", pin.irq, lambda p: None)


def test_pin_from_before_a_reset_is_dead(board):
    pin = board.machine.Pin(10, board.machine.Pin.OUT, value=1)
    board.port.reset("watchdog")
    assert board.port.levels == {}
    refuses(board, ValueError, "pin 10 is not an output", pin.value, 1)
    refuses(board, ValueError, "pin 10 is not configured", pin.value)
    assert board.port.levels == {}


def test_pin_history_tells_time_and_level(board):
    pin = board.machine.Pin(10, board.machine.Pin.OUT)
    other = board.machine.Pin(11, board.machine.Pin.OUT)
    board.time.sleep_ms(3)
    pin.on()
    pin.on()
    other.on()
    board.time.sleep_us(700)
    pin.off()
    assert board.port.history(10) == [(3000, 1), (3700, 0)]


def test_pin_held_from_outside_reads_back_that_level(board):
    pin = board.machine.Pin(10, board.machine.Pin.OUT, value=0)
    board.outside.orders.append(["pad", 10, 1])
    board.time.sleep_ms(1)
    pin.off()
    assert pin.value() == 1
    assert board.port.levels[10] == 1
    board.outside.orders.append(["pad", 10, None])
    board.time.sleep_ms(1)
    assert pin.value() == 0


# RP2040 datasheet 1.4.3 (GPIO functions): SPI0 clocks on 2, 6, 18, 22; SPI1 on 10, 14, 26.
@pytest.mark.parametrize(
    ("unit", "sck", "miso", "good"), [(0, 18, 16, True), (0, 19, 16, False), (1, 18, 16, False), (1, 10, 12, True)]
)
def test_spi_pins_must_belong_to_the_unit(board, unit, sck, miso, good):
    Pin, SPI = board.machine.Pin, board.machine.SPI
    if good:
        assert SPI(unit, sck=Pin(sck), miso=Pin(miso)).baudrate == 1_000_000
    else:
        refuses(board, ValueError, "cannot serve SPI", SPI, unit, sck=Pin(sck), miso=Pin(miso))


def test_spi_closed_bus_is_refused(board):
    spi = board.machine.SPI(0, sck=board.machine.Pin(18), miso=board.machine.Pin(16))
    spi.deinit()
    refuses(board, OSError, "spi0 is not open", spi.read, 4)


def test_spi_bus_from_before_a_reset_is_refused(board):
    spi = board.machine.SPI(0, sck=board.machine.Pin(18), miso=board.machine.Pin(16))
    board.port.reset("watchdog")
    refuses(board, OSError, "spi0 is not open", spi.readinto, bytearray(4))


def test_spi_answers_the_chip_whose_select_is_low_once_per_selection(board):
    Pin = board.machine.Pin
    board.outside.chips = {("spi0", 17): b"\x01\x02\x03\x04", ("spi0", 20): b"\x05\x06\x07\x08"}
    spi = board.machine.SPI(0, sck=Pin(18), miso=Pin(16))
    first, second = Pin(17, Pin.OUT, value=1), Pin(20, Pin.OUT, value=1)
    assert spi.read(4) == bytes(4)  # nobody is selected
    first(0)
    assert spi.read(4) == b"\x01\x02\x03\x04"
    refuses(board, OSError, "chip 17 was not selected anew", spi.read, 4)
    second(0)
    refuses(board, OSError, "pins 17 and 20 select two chips", spi.read, 4)
    first(1)
    assert spi.read(4) == b"\x05\x06\x07\x08"


def test_spi_select_that_was_never_high_is_refused(board):
    Pin = board.machine.Pin
    board.outside.chips = {("spi0", 17): b"\x01\x02\x03\x04"}
    spi = board.machine.SPI(0, sck=Pin(18), miso=Pin(16))
    Pin(17, Pin.OUT, value=0)
    refuses(board, OSError, "chip 17 was not selected anew", spi.read, 4)


def test_i2c_without_an_answer_raises_as_hardware_does(board):
    Pin = board.machine.Pin
    i2c = board.machine.I2C(0, scl=Pin(5), sda=Pin(4))
    assert i2c.scan() == [0x48]
    assert i2c.readfrom_mem(0x48, 1, 2) == b"\x00\x01"
    with pytest.raises(OSError):
        i2c.readfrom(0x49, 1)


def test_adc_reads_only_analog_pins(board):
    assert board.machine.ADC(26).read_u16() == 1234
    refuses(board, ValueError, "no analog input", board.machine.ADC, 10)


def test_timer_number_on_rp2_is_minus_one(board):
    refuses(board, ValueError, "Timer must be -1", board.machine.Timer, 0)


def test_timer_without_callback_or_period_is_refused(board):
    refuses(board, ValueError, "needs a callback", board.machine.Timer, -1, period=10)
    refuses(board, ValueError, "needs a callback", board.machine.Timer, -1, callback=print)


def test_pwm_does_not_exist(board):
    assert not hasattr(board.machine, "PWM")


def test_unknown_chip_is_named(make_board):
    with pytest.raises(ValueError, match="unknown MCU 'z80' .known: esp32"):
        make_board("z80")
