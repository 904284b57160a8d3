# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Which splices a verdict speaks of, and whose verdict it is; the verdict itself is told in inspections.py."""

from __future__ import annotations

import re
from dataclasses import replace

from sitebot.understand.clauses import sentences
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before, between
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.rows import Row, excepted, rows
from sitebot.understand.facts.verdicts import told
from sitebot.understand.marks import Text

_COUNTED = re.compile(
    r"^(of them|of em|butts?|tees?|corners?|splices|empalmes|joints? |of the|of those|in one|cuts|de los|metros|m |on <place>|ends|hours|malas|places|are fine|ways|years|of today|more|people|pegas|uniones|esquinas|topes)"
)
_SOURCE = re.compile(
    r" (inspector\w*|inspection|inspectora|qc|qa|quality|calidad|supervision|third party|third - party|clerk o works|third-party|the lady|dictamen|tercero|the engineer) "
)
_HANDED = re.compile(
    r" (nos|me) (lo |la |los )?(tumb\w*|boto|rebot\w*|rechaz\w*|acept\w*|aprob\w*|paso|dio) | ha dado por | dinged us | on us | got the thumbs up | me dio "
)
_OWN = re.compile(
    r" (do not need to wait|inspector is not|inspector aint|not need to wait|para que esperar|no hay para que esperar|hay que esperar|buddy|se equivoco el inspector|made a mistake|out sick|wait on the inspector|without the inspector|ain t here|for me el|myself|yo mismo|los revise yo|no need to wait) "
)


def is_relayed(text: Text, context: Context) -> bool:
    """Somebody else's verdict is passed on."""
    row = text.row()[0]
    if context.role == "inspector" or _OWN.search(row) or words.says("source_absent", row):
        return False
    return bool(_SOURCE.search(row) or _HANDED.search(row) or words.says("source_told", row))


def splice_rows(text: Text) -> list[Row]:
    """Rows of numbers that name splices, not counts of them."""
    return [part for r in rows(text) if _names_splices(text, r) for part in _parted(text, r)]


def is_given(text: Text, context: Context) -> bool:
    """A verdict in so many words on splices that are named, from who may give it or passed on from him."""
    row = text.row()[0]
    said = {k for _, k in told(row)} & {"accept", "reject"}
    named = bool(splice_rows(text)) or text.has("last_one") or bool(text.of("place"))
    return bool(said) and named and (context.judges or is_relayed(text, context))


def counts(text: Text, row: Row) -> bool:
    """ "5 splices checked", "revise 5 hoy": so many, not one of that number."""
    tail = after(text, row.end)
    if _COUNTED.match(tail) or (re.match(r"^\w+ (\w+ )?:", tail) and _counts_list(text, row)):
        return True
    return words.begins("so_many", tail) and words.ends("looked_at", before(text, row.start))


def _counts_list(text: Text, row: Row) -> bool:
    """ "5 aprobados: 1, 2, 3, 4 y 6": the number is as large as the row behind it is long."""
    return any(len(r.numbers) == row.numbers[0] for r in rows(text) if r.start > row.end)


def _parted(text: Text, row: Row) -> list[Row]:
    """ "passed 50 thru 54, 55 reject": a verdict before a row and another behind it: the last number is another row."""
    marks = [m for m in text.of("n", "range") if row.first <= m.start < row.end]
    if len(marks) < 2:
        return [row]
    start = next((s for s, e in sentences(text) if s <= row.start < e), 0)
    before_it = [k for _, k in told(between(text, start, row.start)) if k in _SAID]
    tail = re.split(r" (?:[.,;:(\n]|and|but|y|pero) ", between(text, row.end, min(row.end + 4, len(text.tokens))))[0]
    behind_it = [k for _, k in told(f"{tail.rstrip()} ") if k in _SAID]
    behind_it = ["reject"] if words.is_only("bare_no", f" {tail.strip()} ") else behind_it
    if not before_it or not behind_it or _SAID[before_it[-1]] == _SAID[behind_it[0]]:
        return [row]
    if re.search(r" <(?:n|range)> $", tail):
        return [row]
    size = len(marks[-1].value) if isinstance(marks[-1].value, list) else 1
    cut = marks[-1].start
    return [
        replace(row, end=marks[-2].end, numbers=row.numbers[:-size]),
        replace(row, start=cut, first=cut, numbers=row.numbers[-size:], ranged=marks[-1].kind == "range", signed=True),
    ]


#: Verdict words by what they say.
_SAID = {"accept": "accept", "fine": "accept", "reject": "reject", "poor": "reject", "hold": "hold"}


def _names_splices(text: Text, row: Row) -> bool:
    if not all(isinstance(n, int) and 0 < n < 3000 for n in row.numbers):
        return False
    if row.ranged or len(row.numbers) > 1:
        return True
    signs = {text.word(i) for i in range(row.start, row.end)}
    strong = bool(
        signs & {"#", "number", "no", "splice", "weld", "empalme", "el", "la", "numero", "joint", "del", "al"}
    )
    head = before(text, row.start)
    if not strong and words.ends("of_part", head) and text.word(row.start - 1) != "\n":
        return False
    if not strong and counts(text, row):
        return False
    if (
        re.search(
            r"(all|last|other|those|both|the other|one of those|at|el|took|photo of|of|grid|one of|wall|level|ninguno de)$",
            head,
        )
        and row.numbers[0] <= 12
        and not strong
        and not words.ends("looked_at", head)
    ):
        return head.endswith(("of", "photo of")) and not head.endswith(("one of", "all of", "ninguno de"))
    if signs & {"los", "las"} and row.numbers[0] <= 12:
        return False
    return not (text.tokens[row.end - 1].spelled and row.numbers[0] <= 9 and not strong)


def is_vague(text: Text) -> bool:
    """Some are judged, but not said which: "one of those is bad", "hay dos en la zapata que no pasan"."""
    row = text.row()[0]
    row = re.sub(r" (all|both|every one|each one|every single one|todos|todas) (<n> )?(of|de) ", " all ", row)
    counted = words.says("some_judged", row) and not re.search(
        r" (all|both|todos|todas|ambos|ambas|los|las|the|those|these) <n> ", row
    )
    return (words.says("some_of", row) or counted or " numbers to follow " in row) and not splice_rows(text)


def excepts_unnamed(text: Text) -> bool:
    """ "everything is fine except the tee": what is taken out has no number, so that nobody knows which it is."""
    if excepted(text)[0]:
        return False
    row, places = text.row()
    ends = [places[m.end() - 1] for m in words.pattern("except_words").finditer(row)]
    return any(0 <= kind.start - end <= 3 for end in ends for kind in named_kinds(text))
