"""Forces and couples: through one point, and placed."""
