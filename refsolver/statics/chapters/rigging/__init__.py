"""The chapter ``rigging``: its families, and what only they share."""
