"""What heat needs, one by one and in plain words, for people: the judgement itself is supervisor.py's."""

from tizzone.safety import limits as L


def permissives(app):
    """((name, good), ...) of everything that must be good before an evening may begin."""
    sup = app.supervisor
    seen = app.seen
    return (
        ("armed", sup.armed),
        ("no-trip", sup.first_out == L.NONE),
        ("no-hold", not sup.holding),
        ("no-stop", not sup.stopping),
        ("enable", seen.enable),
        ("limiter", seen.limit_ok),
        ("selector-ours", seen.selector_ours),
        ("fan", seen.fan_ok or not seen.fan_on),  # a fan at rest proves itself once it is started
        ("door-shut", seen.door_shut),
        ("reading", app.dome.usable),
        ("below-limit", app.dome.limit_mc < sup.limit_mc),
    )


def missing(app):
    """Names of what stands against heat."""
    return [name for name, good in permissives(app) if not good]
