"""The chapter ``frames``: its families, and what only they share."""
