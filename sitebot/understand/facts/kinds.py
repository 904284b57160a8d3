"""Kinds of splice a text names, with the count that stands before each."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sitebot.understand.facts import words
from sitebot.understand.marks import Text

KINDS = ("flat_corner", "edge_corner", "corner", "tee", "cross", "wye", "butt")
_BETWEEN = {
    "x",
    "por",
    "of",
    "more",
    "mas",
    "straight",
    "new",
    "extra",
    "no",
    "nos",
    ".",
    "last",
    "good",
    "de",
    "uniones",
    "pegas",
    "juntas",
    "empalmes",
    "soldaduras",
    "piezas",
    "joints",
    "splices",
    "splice",
    "welds",
    "weld",
    "piece",
    "pieces",
    "en",
    "a",
    "al",
    "the",
    "big",
    "little",
    "in",
    "inch",
    "ones",
    "otros",
    "otras",
    "buenas",
    "buenos",
    "stupid",
    "ugly",
    "nuevas",
    "nuevos",
    "fresh",
    "(",
    ")",
    "<len>",
    "pcs",
    "them",
    "only",
    "but",
    "butt",
    "ea",
}
#: Behind a kind in the singular these make it several: "8 butt welds".
_NOUNS = {"welds", "joints", "splices", "connections", "pieces", "ones", "types", "jobs"}


#: A larger number behind a kind is a splice's.
MOST_COUNTED = 12


@dataclass(frozen=True, slots=True)
class Named:
    """A kind that stands in the text: where, whether in the plural, and the count said with it."""

    kind: str
    start: int
    end: int
    plural: bool
    count: int | None
    count_at: int = -1


def named_kinds(text: Text) -> list[Named]:
    """Kinds in order; where two readings overlap the longer (flat corner) wins over the shorter (corner)."""
    spans: list[tuple[int, int, str]] = []
    for kind in KINDS:
        for start, end in text.find(f"kind.{kind}"):
            if not any(s < end and start < e for s, e, _ in spans) and _is_kind(text, start, end, kind):
                spans.append((start, end, kind))
    found = [_named(text, *span) for span in sorted(spans)]
    return _counted_behind(text, found) or found


def _counted_behind(text: Text, found: list[Named]) -> list[Named]:
    """ "butts 5, cross 1": each kind with its count behind it; nothing where they do not all stand so."""
    marks = [m for m in text.of("n") if isinstance(m.value, int)]
    pairs = list(zip(found, marks, strict=False))
    if len(found) < 2 or len(found) != len(marks) or any(m.start != k.end for k, m in pairs):
        return []
    if any(m.value > MOST_COUNTED for m in marks) or text.mark_at(found[0].start - 1) in marks:
        return []
    return [replace(k, plural=True, count=int(m.value), count_at=m.start) for k, m in pairs]


def _is_kind(text: Text, start: int, end: int, kind: str) -> bool:
    word, before, after = text.word(start), text.word(start - 1), text.word(end)
    if end - start > 1:
        return True
    if kind == "tee" and word == "te":
        return after not in {"puse", "dije", "mande", "paso", "digo", "quedo"} and (
            words.is_only("before_te", f" {before} ")
            or text.mark_at(start - 1) is not None
            or text.tokens[start].raw == "T"
        )
    if kind == "tee" and word == "t":
        return text.tokens[start].raw == "T" or before in {"a", "this", "the", "de", "en"}
    if kind == "wye" and word == "y" and after == "griega":
        return True
    if kind == "wye" and word == "y":
        return (
            text.tokens[start].raw == "Y"
            and (before in {"a", "the", "la", "", "one", "de", "en"} or text.mark_at(start - 1) is not None)
            and not (start == 0 and after in {"para", "que", "si", "mi", "el", "la", "los"})
        )
    if kind == "wye" and word == "ye":
        return before in {"la", "una", "de", "otra", "el"} or text.mark_at(start - 1) is not None
    if kind == "butt" and word in {"straight", "derecha", "derecho"}:
        return after not in {"up", "onto", "on", "fire", "into", "run", "through", "thru"} and before not in {
            "lado",
            "estribo",
            "orilla",
            "ala",
            "margen",
        }
    if kind == "cross" and word == "cross":
        return (
            before not in {"can", "two", "will", "lines", "walls"} and after not in {"each", "section", "at", "-"}
        ) or before in {"a", "the", "done", "cross", "one"}
    if kind == "corner":
        return (after not in {"of"} and before not in {"in", "right", "left", "inside"}) or before in {"inside"}
    return True


def _named(text: Text, start: int, end: int, kind: str) -> Named:
    words = [text.word(i) for i in range(start, end)]
    plural = (
        (words[0].endswith("s") and words[0] not in {"cross", "yes"})
        or (words[-1].endswith("s") and words[-1] != "cross")
        or "crosses" in words
    )
    plural = plural or words[0] in {"a", "de", "al", "d", "en"} or text.word(end) in _NOUNS
    at = start - 1
    own = text.mark_at(start)
    if own is not None and own.kind == "n":
        return Named(kind, start, end, plural, int(own.value), own.start)
    steps = 0
    while steps < 3 and at >= 0 and _may_stand_between(text, at):
        at, steps = at - 1, steps + 1
    mark = text.mark_at(at)
    if mark is not None and mark.kind == "n" and isinstance(mark.value, int):
        return Named(kind, start, end, plural, mark.value, mark.start)
    if text.word(end) == "x":
        after = text.mark_at(end + 1)
        if after is not None and after.kind == "n":
            return Named(kind, start, end, True, int(after.value), after.start)
    return Named(kind, start, end, plural, None)


def _may_stand_between(text: Text, at: int) -> bool:
    mark = text.mark_at(at)
    return text.word(at) in _BETWEEN or (mark is not None and mark.kind == "len")


def refine(kind: str, text: Text) -> str:
    """A corner is flat or on edge when the text says so somewhere."""
    if kind != "corner":
        return kind
    if text.has("flat_word"):
        return "flat_corner"
    return "edge_corner" if text.has("edge_word") else kind


def has_article(text: Text, kind: Named, counted: bool) -> bool:
    """ "a butt", "una buena te", or "the wye y dos butts", where the kind stands in a list."""
    if text.word(kind.start - 1) in {"a", "an", "una", "un", "one", "otra", "otro", "another"}:
        return True
    joins = {"and", "y", "plus", "mas", "+"}
    leads = text.word(kind.end) in joins and text.word(kind.start - 2) not in {
        "off",
        "of",
        "from",
        "at",
        "by",
        "de",
        "en",
        "to",
    }
    linked = leads or text.word(kind.start - 2) in joins
    definite = counted and text.word(kind.start - 1) in {"the", "la", "el"} and linked
    return definite or text.word(kind.start - 2) in {"a", "una", "un"}
