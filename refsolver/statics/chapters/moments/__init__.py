"""The chapter ``moments``: its families, and what only they share."""
