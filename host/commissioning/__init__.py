"""Commissioning: witness steps in order, what a person enters, what the board measures, and the record to keep."""
