"""Learns the oven: the experiment, the model fitted to it, the tuning that follows and who judges it."""
