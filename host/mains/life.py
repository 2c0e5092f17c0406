"""How many evenings the contacts last."""

from host.mains.value import MEMORY, Value

OPERATIONS = {
    "relay": Value(100_000, "operations", MEMORY, "usual electrical life at rated resistive load"),
    "contactor": Value(1_000_000, "operations", MEMORY, "usual AC-1 life at rated current"),
}


MANY_EVENINGS = 1000.0  # more says only that the count is no matter: twenty years of club nights; house


def evenings(operations: float, window_s: float, hours: float) -> float:
    """Evenings until `operations` are used up, one operation a window of `window_s`."""
    return operations / (hours * 3600 / window_s)


def window_for_s(operations: float, wanted_evenings: float, hours: float) -> float:
    """Window that makes the contacts last `wanted_evenings`, s."""
    return wanted_evenings * hours * 3600 / operations
