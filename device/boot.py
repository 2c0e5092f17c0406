"""First thing after every reset: each output in the pin map to its safe level. Nothing else.

Imports only the pin map and `machine`, always returns: if the map is missing or wrong, the external
pull-downs hold the relays.
A tool that connects makes a soft reset, which runs this file but not main.py: so connecting makes the
board safe too.
"""

try:
    import board
    from machine import Pin

    for _name in ("HEAT_TOP", "HEAT_DECK", "CONTACTOR", "COOLING_FAN", "BUZZER"):
        _pin = getattr(board, _name, None)
        if _pin is not None:
            Pin(_pin, Pin.OUT, value=0)
except (ImportError, SyntaxError, ValueError, TypeError, OSError) as _error:
    print("boot: pin map unusable, outputs left to their pull-downs:", _error)
