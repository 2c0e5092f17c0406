"""`time` of the simulated board, for both runtimes. Time passes in the sleeps alone."""

import simboard

_PERIOD = 1 << 30
_HALF = 1 << 29
_EPOCH_S = 1_609_459_200  # 2021-01-01, where an rp2 board without a set clock begins


def ticks_ms():
    """Milliseconds modulo 2^30; the count starts 30 s before it wraps."""
    return simboard.port.ticks_ms()


def ticks_us():
    """Microseconds modulo 2^30."""
    return simboard.port.ticks_us()


ticks_cpu = ticks_us


def ticks_diff(end, start):
    """Signed distance of two ticks, right within half a period; what is no tick is refused."""
    if not (0 <= end < _PERIOD and 0 <= start < _PERIOD):
        simboard.port.refuse(ValueError, "ticks_diff: not a tick value")
    return ((end - start + _HALF) & (_PERIOD - 1)) - _HALF


def ticks_add(ticks, delta):
    """A tick later (or earlier) by less than half a period."""
    if not -_HALF < delta < _HALF:
        raise OverflowError("ticks interval overflow")
    return (ticks + delta) & (_PERIOD - 1)


def sleep_ms(ms):
    """Wait; a whole number of milliseconds."""
    if not isinstance(ms, int):
        simboard.port.refuse(TypeError, "sleep_ms takes a whole number")
    simboard.port.sleep_us(ms * 1000)


def sleep_us(us):
    """Wait; a whole number of microseconds."""
    if not isinstance(us, int):
        simboard.port.refuse(TypeError, "sleep_us takes a whole number")
    simboard.port.sleep_us(us)


def sleep(seconds):
    """Wait; seconds may have a fraction."""
    simboard.port.sleep_us(int(seconds * 1_000_000))


def time():
    """Seconds of a clock that nobody has set."""
    return _EPOCH_S + (simboard.port.now_us - simboard.port.boot_us) // 1_000_000


def time_ns():
    """The same in nanoseconds."""
    return (_EPOCH_S * 1_000_000 + simboard.port.now_us - simboard.port.boot_us) * 1000
