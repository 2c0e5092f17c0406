"""`micropython` for CPython. MicroPython itself always uses its own, which no file can replace."""


def const(value):
    """A number that the MicroPython compiler folds."""
    return value


def native(function):
    """A decorator that changes nothing here."""
    return function


viper = native


def opt_level(level=None):
    """Accepted."""
    return 0


def heap_lock():
    """Cannot be enforced here; MicroPython does."""
    return 0


def heap_unlock():
    """See heap_lock."""
    return 0


def heap_locked():
    """Never."""
    return 0


def alloc_emergency_exception_buf(size):
    """Accepted."""


def kbd_intr(_character):
    """Accepted."""


def mem_info(_verbose=False):
    """Nothing to say here."""


def schedule(function, argument):
    """Run at once: nothing is interrupted here."""
    function(argument)
