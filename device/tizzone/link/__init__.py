"""The serial line: frames, commands, and what a person may do through them."""
