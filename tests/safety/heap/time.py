"""Time that passes without waiting."""


def sleep_us(us):
    """Nothing."""
