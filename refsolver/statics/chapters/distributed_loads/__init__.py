"""The chapter ``distributed-loads``: its families, and what only they share."""
