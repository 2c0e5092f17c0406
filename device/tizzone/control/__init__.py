"""Arithmetic of control in floats: the controller, the stone's estimate and the forecast. No pins, no clock."""
