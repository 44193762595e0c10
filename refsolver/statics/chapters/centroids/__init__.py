"""The chapter ``centroids``: its families, and what only they share."""
