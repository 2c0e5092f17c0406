"""Files that people keep: written whole or not at all."""
