"""The chapter ``beams``: its families, and what only they share."""
