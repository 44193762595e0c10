"""The chapter ``mass-moments``: its families, and what only they share."""
