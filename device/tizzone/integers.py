"""Whole numbers that stay within bounds: what every room counts with. Allocates nothing."""

from micropython import const

# Age counters stop here (5.8 days), far below 2**30, from which whole numbers allocate on small boards.
CAP_MS = const(500_000_000)


def aged(age_ms, dt_ms):
    """Age counter after dt_ms more, stopped far below the integer limit."""
    age_ms += dt_ms
    return age_ms if age_ms < CAP_MS else CAP_MS


def bounded(value, low, high):
    """`value` held between low and high."""
    return low if value < low else high if value > high else value
