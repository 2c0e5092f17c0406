"""The one simulated board that machine, time and the others act on just now."""

port = None  # host.shim.port.Port; swapped by whoever lets a board run
