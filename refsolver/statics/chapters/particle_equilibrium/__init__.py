"""The chapter ``particle-equilibrium``: its families, and what only they share."""
