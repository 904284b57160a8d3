"""From a text and its context to acts. Pure: no input or output, no clock of its own."""

from sitebot.understand.explain import explain
from sitebot.understand.reader import read

__all__ = ["explain", "read"]
