"""The chapter ``cables``: its families, and what only they share."""
