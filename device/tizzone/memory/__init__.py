"""What outlives a reset: whole values in two copies, and what they mean."""
