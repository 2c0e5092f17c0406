"""Files that belong to the user: written whole or not at all (writing), never over another kind (kinds); settings."""
