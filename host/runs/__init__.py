"""What was recorded of an evening: the run folder, its figures, page and pictures, and the history of many."""
