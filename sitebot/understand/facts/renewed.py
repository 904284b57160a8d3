"""Old welds and the new ones made for them, told with both numbers: "cut 44 out and welded 91 in its place".

Only who is told as new and who as old; whether the redo is done is told in work.py, what the log holds elsewhere.
"""

from __future__ import annotations

from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before
from sitebot.understand.facts.elsewise import counts_else
from sitebot.understand.facts.rows import Row, rows
from sitebot.understand.marks import Text


def renewed(text: Text) -> tuple[list[int], list[int]]:
    """The old numbers and the new ones; no old ones where only the new is told."""
    named = _named(text)
    news: list[Row] = []
    for at, row in enumerate(named):
        if _is_new(text, row, bool(named[:at]) and not news):
            news.append(row)
    if not news:
        olds = [row for row in named if words.ends("old_before", before(text, row.start))]
        news = [row for row in named if row not in olds] if olds else []
    old, new = (
        list(dict.fromkeys(n for r in named if (r in news) is told for n in r.numbers)) for told in (False, True)
    )
    if not old and words.says("as_new", text.row()[0]):
        return [], []
    return (old, new) if len(new) >= len(old) and not set(old) & set(new) else ([], [])


def is_replacing(text: Text) -> bool:
    """One weld stands in the place of another: no correction of what was written says so."""
    return words.says("replaces", text.row()[0])


def _named(text: Text) -> list[Row]:
    """Rows of numbers that may name splices."""
    found = [r for r in rows(text) if all(isinstance(n, int) and 0 < n < 3000 for n in r.numbers)]
    return [r for r in found if not _counts(text, r)]


def _counts(text: Text, row: Row) -> bool:
    mark = text.mark_at(row.first)
    spelled = text.tokens[row.first].spelled and row.numbers[0] <= 9
    signed = row.signed and text.word(row.start) not in {"los", "las"}
    return not signed and len(row.numbers) == 1 and (spelled or (mark is not None and counts_else(text, mark)))


def _is_new(text: Text, row: Row, is_behind: bool) -> bool:
    head, tail = before(text, row.start).rstrip(" ,:;-"), after(text, row.end)
    if words.ends("old_before", head):
        return False
    if words.ends("new_before", head) or words.begins("new_after", tail):
        return True
    return is_behind and words.ends("new_behind", head)
