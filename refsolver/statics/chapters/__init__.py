"""One module a chapter; each registers a few small families."""
