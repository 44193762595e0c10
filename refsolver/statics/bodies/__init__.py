"""Free bodies: what acts on them, what holds them, what their equilibrium determines."""
