"""The chapter ``virtual-work``: its families, and what only they share."""
