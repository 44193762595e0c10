"""The chapter ``force-systems``: its families, and what only they share."""
