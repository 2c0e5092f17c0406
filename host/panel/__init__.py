"""The laptop's look at the panel: its display as a picture, one hand at its knob."""
