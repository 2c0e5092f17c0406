"""What the board's own code says about limits and releases: asked through the simulated board, never stated here."""

from functools import cache
from types import SimpleNamespace

from host.mains.value import Value
from host.pins import pin_map, release
from host.shim.loader import world


@cache
def _limits():
    return world().load("tizzone.safety.limits")


def compiled_limit() -> Value:
    """Highest high limit that the device accepts, degC."""
    return Value(_limits().HIGH_LIMIT_MAX_MC / 1000, "degC", source="highest limit the device accepts")


def highest_release() -> Value:
    """Highest setpoint that commissioning earns, degC."""
    return Value(release.releases_c()[-1], "degC", source="highest setpoint that commissioning earns")


def above_wanted() -> Value:
    """How far a limit stands above the highest setpoint, K."""
    return Value(_limits().SETPOINT_MARGIN_MK / 1000, "K", source="highest setpoint on the device = limit - this")


@cache
def without_c(missing: str) -> int:
    """Highest setpoint that commissioning releases where this name of the pin map is not wired, all else is, degC."""
    pins = pin_map.read("pico")
    names = {name: value for name, value in vars(pins).items() if name != missing}
    return release.reach(SimpleNamespace(get=names.get)).release_c


def without_limiter_c() -> int:
    """Highest setpoint that commissioning releases without an independent limiter, everything else wired, degC."""
    return without_c("LIMIT_OK")


def grade_without(missing: str, wanted_c: float) -> str:
    """Grade of a contact that the board cannot see: a stop where commissioning then never releases `wanted_c`, degC."""
    return "stop" if wanted_c > without_c(missing) else "change"


def rule_without(missing: str) -> str:
    """The device's own rule about such a contact in words, as `tizzone pins` tells it."""
    return f"without {missing} commissioning releases {without_c(missing)} degC at most"
