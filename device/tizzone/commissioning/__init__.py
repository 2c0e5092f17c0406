"""What the board has witnessed of its oven, and the highest setpoint that this releases."""
