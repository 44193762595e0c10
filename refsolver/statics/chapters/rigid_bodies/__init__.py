"""The chapter ``rigid-bodies``: its families, and what only they share."""
