"""The chapter ``hydrostatics``: its families, and what only they share."""
