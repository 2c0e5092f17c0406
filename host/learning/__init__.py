"""Learning on the laptop: the control loop alone, the device's experiment on a plant, a twin of an oven."""
