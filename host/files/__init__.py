"""Files that belong to the user: written whole or not at all (writing), and a board's settings (settings_file)."""
