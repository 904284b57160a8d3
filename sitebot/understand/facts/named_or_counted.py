# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Whether a row of numbers names splices or counts them; what counts come to is told in counts.py."""

from __future__ import annotations

import itertools
import re

from sitebot.understand.context import Context
from sitebot.understand.facts.around import after, before
from sitebot.understand.facts.kinds import Named, named_kinds
from sitebot.understand.facts.rows import Row
from sitebot.understand.marks import Text

_MADE = re.compile(
    r"(did|made|done|got|welded|finished|completed|knocked out|banged out|zapped|put in|hicimos|hice|con|llevamos|van|sacamos|soldamos|pegamos|terminamos|metimos|quedaron|salieron|saque|otros|otras|other|ponle|apunta|anota|reporto|de)$"
)
#: What stands behind a count of splices.
COUNTED = re.compile(
    r"^(more|mas|extra|new|fresh|nuevas?|nuevos?|of|splices?|empalmes?|joints?|welds?|uniones|juntas|pegas?|pegues|soldaduras?|total|made|butts|straights|pcs|pieces|ones|additional|down|on <iron>|hechos|hechas|in the books|in total|altogether|today|so far|for the day|por todos|por todas|en total|esquineros)\b"
)
#: Largest bare number taken for a count where nothing else tells.
SMALL = 12


def are_numbers(text: Text, row: Row, kind: Named | None, context: Context) -> bool:
    """Whether a row names splices (True) or counts them."""
    if row.ranged:
        return True
    if len(row.numbers) > 1:
        return _many(text, row, kind, context)
    number = row.numbers[0]
    signs = {text.word(i) for i in range(row.start, row.end)}
    head, tail = before(text, row.start), after(text, row.end)
    if signs & {"#", "number", "numero", "num", "nos"} or ("no" in signs and not (text.spanish and "." not in signs)):
        return True
    if signs & {"los", "las"} or (kind is not None and kind.plural):
        return False
    if signs & {"splice", "weld", "empalme", "joint", "union", "el", "la", "al", "del", "lo", "junta"}:
        return not (text.tokens[row.end - 1].spelled and number == 1)
    if re.search(r"(call it|calling it|it is|es el|es la|ahora es|its)$", head) and kind is None and number > 2:
        return True
    if COUNTED.match(tail) and number <= 60:
        return False
    if (
        _MADE.search(head)
        and number <= SMALL
        and not (context.highest and number == context.highest + 1 and (kind is not None or _is_of_one(text, number)))
    ):
        return False
    return _by_size(text, number, kind, context)


def _is_of_one(text: Text, number: int) -> bool:
    """ "we did 6 yesterday, butt": a kind in the singular, said apart from the number."""
    kinds = named_kinds(text)
    return number > 2 and bool(kinds) and not any(k.plural or k.count for k in kinds)


def _many(text: Text, row: Row, kind: Named | None, context: Context) -> bool:
    numbers = row.numbers
    if row.signed and min(numbers) > SMALL and not (kind and kind.plural):
        return True
    rising = all(isinstance(a, int) and isinstance(b, int) and b > a for a, b in itertools.pairwise(numbers))
    words = {text.word(i) for i in range(row.start, row.end)}
    if (words & {"or", "o", "u", "+"} and not row.signed) or (
        any(text.tokens[i].spelled for i in range(row.start, row.end)) and max(numbers) <= 4
    ):
        return False
    # "3 and 4 butts" on a site are two splices: nobody adds them up.
    by_one = bool(context.gazetteer.places) and numbers[-1] - numbers[0] == len(numbers) - 1
    return rising and (by_one or not (kind and kind.plural and not row.signed and numbers[-1] <= 4))


def _by_size(text: Text, number: int, kind: Named | None, context: Context) -> bool:
    if context.highest:
        return (
            number > 2
            and (number > context.highest or number > SMALL)
            and not (number <= 4 and kind is None and number != context.highest + 1)
        )
    return number > SMALL or (kind is not None and number > 4 and not text.spanish)
