"""An integer that refuses to pass 2**30, to follow the safety path's arithmetic."""


class Watched(int):
    """An integer whose every sum, product and shift must stay below 2**30.

    A larger one is allocated on a 32-bit board; a 64-bit interpreter hides it.
    """

    def __neg__(self):
        return Watched(-int(self))


def _watch(name):
    plain = getattr(int, name)

    def operation(self, other):
        result = plain(self, other)
        if result is NotImplemented:
            return result
        if not -(2**30) < result < 2**30:
            raise OverflowError(f"{int(self)} {name} {other} = {result}")
        return Watched(result)

    return operation


_NAMES = ["add", "sub", "mul", "lshift", "rshift", "and", "or", "floordiv", "mod"]
for _name in _NAMES + ["r" + name for name in _NAMES]:
    setattr(Watched, f"__{_name}__", _watch(f"__{_name}__"))


def watch_tables(thing):
    """Replace the tables of a Thermocouple by watched integers."""
    thing.t_mc = tuple(map(Watched, thing.t_mc))
    thing.cold_nv = tuple(map(Watched, thing.cold_nv))
