"""Campaigns of faults and of clean evenings, and who judges them."""
