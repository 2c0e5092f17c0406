"""Probes: what they give (reading), one driver a chip, linearisation, and what makes a process value of it."""
