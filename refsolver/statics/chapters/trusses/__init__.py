"""The chapter ``trusses``: its families, and what only they share."""
