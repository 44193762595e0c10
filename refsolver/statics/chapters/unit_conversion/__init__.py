"""The chapter ``unit-conversion``: its families, and what only they share."""
