"""The only rooms that may permit heat: the supervisor, its rules, limits and alarms."""
