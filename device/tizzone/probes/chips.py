"""Builds the probe that a pin map names: one driver module a chip, loaded only where it is wired."""

# Chip names of a pin map, and the module of each.
CHIPS = {
    "max31855": "max31855", "max31856": "max31856", "max6675": "max6675", "max31865": "max31865",
    "mcp9600": "mcp9600", "mcp9601": "mcp9600", "ad849x": "ad849x", "ads1115": "ads1115",
}  # fmt: skip


def make(name, spec, buses=None):
    """Build the probe of one pin map entry; ValueError (one line) when the entry is unusable.

    name: "dome", "stone" ...; spec: its dict; buses: dict shared by all probes of a board, filled here.
    """
    chip = spec.get("chip")
    if chip not in CHIPS:
        raise ValueError("probe %s: chip %s is not known" % (name, chip))
    try:
        return _build(chip, spec, {} if buses is None else buses)
    except KeyError as error:
        raise ValueError("probe %s: its entry lacks %s" % (name, error.args[0]))
    except ValueError as error:
        raise ValueError("probe %s: %s" % (name, error.args[0]))


def _build(chip, spec, buses):
    module = CHIPS[chip]
    if module == "max31855":
        from tizzone.probes.max31855 import build
    elif module == "max31856":
        from tizzone.probes.max31856 import build
    elif module == "max6675":
        from tizzone.probes.max6675 import build
    elif module == "max31865":
        from tizzone.probes.max31865 import build
    elif module == "mcp9600":
        from tizzone.probes.mcp9600 import build
    elif module == "ad849x":
        from tizzone.probes.ad849x import build
    else:
        from tizzone.probes.ads1115 import build
    return build(spec, buses)
