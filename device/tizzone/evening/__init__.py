"""What an evening does: the sequence of stages, the bake plan, the breads and their records."""
