"""The chapter ``concurrent-forces``: its families, and what only they share."""
