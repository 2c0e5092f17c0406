"""Tizzone on the board: reads the probe, judges, and drives the relays of a domestic oven."""

VERSION = "0.1.0"
