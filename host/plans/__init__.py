"""Bake plans: the shipped ones and the check of any."""
