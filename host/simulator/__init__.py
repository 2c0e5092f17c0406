"""The world around the simulated board: wiring, mains side, people, cook, and the rehearsal of an evening."""
