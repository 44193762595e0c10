"""The chapter ``friction``: its families, and what only they share."""
