"""The chapter ``lifting-machines``: its families, and what only they share."""
