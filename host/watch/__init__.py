"""The live view: what a board says once a second, kept, drawn in a terminal and shown on a page of this laptop."""
