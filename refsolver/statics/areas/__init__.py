"""Plane areas: composite ones, and those between curves."""
