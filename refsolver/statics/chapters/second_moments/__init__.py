"""The chapter ``second-moments``: its families, and what only they share."""
