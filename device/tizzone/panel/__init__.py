"""Display, knob and stop button on the box."""
