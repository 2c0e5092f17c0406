"""When a current sensor conducts within the mains period, for both runtimes. 50 Hz, upwards at time 0."""

HALF_WAVE_US = 10_000
# The sensor's opto conducts above about 30 % of the peak: |sin x| > 0.3 from 970 us after a zero crossing
# to 970 us before the next (asin(0.3) / pi x 10 ms). Common practice, no source.
SENSE_EDGE_US = 970
NONE, HALF, FULL = 0, 1, 2  # half waves that conduct: none, the positive ones, both


def flows(wave, now_us):
    """Whether the sensor conducts at `now_us` while `wave` flows."""
    if not wave:
        return False
    phase_us = now_us % (2 * HALF_WAVE_US)
    if phase_us >= HALF_WAVE_US:
        if wave == HALF:
            return False
        phase_us -= HALF_WAVE_US
    return SENSE_EDGE_US < phase_us < HALF_WAVE_US - SENSE_EDGE_US


def sensed_level(pin, closed, sense_pins, waves, now_us):
    """0 = closed to GND, None = open: a contact (bit of `closed`) or a current sensor (`waves`, as `sense_pins`)."""
    if closed >> pin & 1:
        return 0
    if pin in sense_pins:
        return 0 if flows(waves[sense_pins.index(pin)], now_us) else None
    return None
