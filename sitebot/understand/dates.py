# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Days, as they are texted: "the 14th", "pasado mañana", "tuesday to friday".

A day stays as the words said, since only the site's calendar makes a date of it.
"""

from __future__ import annotations

import re

from sitebot.understand.marks import Text

_DAYS = "monday|tuesday|wednesday|thursday|friday|saturday|sunday|lunes|martes|miercoles|jueves|viernes|sabado|domingo"
_MONTHS = (
    "january|february|march|april|may|june|july|august|september|october|november|december|jan|feb|mar|apr|jun|jul|aug|sept|sep|oct|nov|dec"
    "|enero|febrero|marzo|abril|mayo|junio|julio|agosto|septiembre|octubre|noviembre|diciembre"
)
_DATE = re.compile(
    r"(?<= )(?:"
    rf"(?:from |del? )?(?:the )?(?:<ord>|<num>|{_MONTHS} <num>|{_MONTHS} <ord>) (?:to|through|thru|and|al|-) (?:the )?(?:<ord>|{_MONTHS} <num>)"
    rf"|(?:{_MONTHS}) (?:<num>|<ord>)(?: (?:to|-) <num>)?|(?:el )?<num> de (?:{_MONTHS})|(?:the )?<num> (?:of )?(?:{_MONTHS})"
    rf"|(?:up to and including |between )?the <ord>(?: (?:of )?(?:{_MONTHS}))?(?: (?:to|through|thru|and) the <ord>)?|<ord>"
    rf"|the first of the month until tonight|day after tomorrow|pasado manana|until (?:{_DAYS})|(?:{_DAYS}) to (?:{_DAYS})"
    rf"|(?:last |next |this |every )?(?:{_DAYS})(?: <ord>)?|tomorrow(?: afternoon| morning)?|next week|last week|all week|this morning"
    rf"|through the heat wave|manana|yesterday|ayer|esta noche|{_MONTHS}"
    r")(?= )"
)


def numbered_row(text: Text) -> tuple[str, list[int]]:
    """Words with free numbers as <num> and ordinals as <ord>; marks keep their kind."""
    row, places = " ", [0]
    at = 0
    while at < len(text.tokens):
        mark = text.mark_at(at)
        token = text.tokens[at]
        word = (
            f"<{mark.kind}>"
            if mark
            else "<ord>"
            if token.form == "ordinal"
            else "<num>"
            if token.form == "int"
            else token.word
        )
        row += f"{word} "
        places += [at] * (len(word) + 1)
        at = mark.end if mark else at + 1
    return row, [*places, len(text.tokens)]


def mark_days(text: Text) -> None:
    """Lay marks over days."""
    row, places = numbered_row(text)
    for match in _DATE.finditer(row):
        start, end = places[match.start()], places[match.end() - 1] + 1
        said = match.group()
        if (
            not text.free(start, end)
            or (said == "may" or said == "mar")
            or ("<ord>" in said and "through" not in said and _is_rank(text, end - 1))
        ):
            continue
        if said == "manana" and text.word(start - 1) in {"la", "esta"}:
            continue
        if text.word(start) in {"the", "el", "from", "del", "between"} and said.split()[0] in {"from", "between"}:
            start += 1
        text.add("date", start, end, text.raw(start, end))


def _is_rank(text: Text, at: int) -> bool:
    value = int(text.tokens[at].value or 0)
    return (value <= 6 and text.word(at - 1) not in {"the", "on"}) or text.word(at + 1) in {
        "butt",
        "one",
        "sample",
        "cut",
        "try",
        "weld",
        "time",
        "go",
        "splice",
    }
