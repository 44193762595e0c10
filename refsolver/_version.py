"""The version, alone in a file so that the command can print it before anything else loads."""

__version__ = "0.2.0"
