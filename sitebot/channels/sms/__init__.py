"""SMS: the crew's ordinary phones, by a modem, an SMPP link or a provider's webhook; the line is a setting.

The texts' arithmetic is exported here and needs no line; the channel itself is in channel.py.
"""

from sitebot.wording.parts import MOST_PARTS, cut, encoding, fold, parts

__all__ = ["MOST_PARTS", "cut", "encoding", "fold", "parts"]
