"""Writes reports/messages.md from the messages in the code: ``python -m tests.messages``."""

from tests.messages.page import write

write()
