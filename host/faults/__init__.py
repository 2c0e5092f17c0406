"""The fault library: what can go wrong, how it is made on the simulated oven, and what the device owes then."""
