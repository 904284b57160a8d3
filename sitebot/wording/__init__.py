"""From what is to be said to a text in the reader's language. Phrases stand in rules/words/<language>/, not here."""

from sitebot.wording.render import has_phrase, render, render_all

__all__ = ["has_phrase", "render", "render_all"]
