"""The chapter ``components``: its families, and what only they share."""
