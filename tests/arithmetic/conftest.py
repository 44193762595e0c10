"""No time limit on an example: a loaded machine is no error of the arithmetic."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
