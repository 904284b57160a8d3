# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Counts told from splice numbers, and added up: what a report of splices comes to."""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, field, replace

from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before, between
from sitebot.understand.facts.elsewise import is_left
from sitebot.understand.facts.kinds import Named, has_article, named_kinds
from sitebot.understand.facts.named_or_counted import COUNTED, are_numbers
from sitebot.understand.facts.rows import Row, excepted, rows
from sitebot.understand.marks import Text

_VAGUE = re.compile(
    r" (a few|few|several|bunch of|a bunch|some|unos cuantos|unas cuantas|varios|varias|un chorro|un monton|a number of|em all|lost track|them all|los que faltaban|lots|los q faltaban|unos) "
)
_EITHER = re.compile(r" (about |like |como |unas |unos )?<n> (or|o|u|you) <n> ")
#: What counts something else than splices.
_OTHER_NOUN = re.compile(
    r"^(of us|of you|ends?|hands?|guys?|people|persons?|cuts?|hours?|rollos?|rolls?|men|man|legs?|places?|slices?|lados?|cortes?|nosotros|welders?|soldadores|"
    r"personas?|minutes|irons?|planchas?|times|veces|days?|dias|sides?|lugares|thick|wide|deep|spots?|try|tries|boys|lads|de nosotros|rods|trucks|at a time|cada uno|cada quien|each of us|rows?|"
    r"ply|bulb|coats?|passes|pasadas|m de|ft of|shifts?|helpers?|ayudantes?|piezas cortadas|yards?)\b"
)
_LEFT = re.compile(
    r"^(more |mas |still )?(left|to go|remaining|to do|pending|planned|still|more to|not|por (?:hacer|soldar|weldear)|pendientes|que faltan|en espera|only cut|cut but|have not|got cut|nomas cortad\w*|sin|were only|yet|on the bench|paused|no lo|todavia|to weld|is next|si no|is not)\b"
)
_ELSE = re.compile(
    r"\b(out of|of the|de los|de las|top of the|faltan|falta|the other|los otros|las otras|remain|nos faltan|besides the|instead of|team of|crew of|somos|fuimos|eramos|quedan por|paused on|last told you was|"
    r"take|took|supposed to (get|do|make)|sposed to (get|do|make)|spose to (get|do|make)|planned on|wanted|de a|each|y|up to|we are at|was at|had|le dije|like|grid|between grid|not done :)$"
)
#: A running total, dropped when the new ones are counted beside it.
_RUNNING = re.compile(r"(van|ya son|that makes|makes|that is|we are up to|llevamos|llevo|ya van|son)$")
_RETRACT = re.compile(
    r"^(no |wait )*(digo|perdon|i mean|or rather|make that|sorry|wait no|mejor dicho)( no| el| la| its| it is| #)*$"
)
#: "5 hechos de 8": the second number is what there was to do.
_OF = re.compile(r"<n> (\w+ ){0,2}(de|of|out of)$")
#: Marks between counts that are added up.
_STOPS = frozenset({",", ".", ";", "&", "+", "/", "\n", ":", "(", "-"})
#: No crew makes more splices than this in a day: more is a number misread.
MOST_A_DAY = 60


@dataclass(slots=True)
class Count:
    """What the numbers of a report add up to."""

    numbers: list[int] = field(default_factory=list)
    #: (count, token, kind)
    counts: list[tuple[int, int, str]] = field(default_factory=list)
    running: list[int] = field(default_factory=list)
    vague: bool = False
    clash: bool = False

    @property
    def total(self) -> int:
        """Sum of the counts."""
        return sum(c for c, _, _ in self.counts)


#: So far beyond the highest number of the log one is still taken for a splice's.
FAR = 500


def count_up(text: Text, context: Context) -> Count:
    """Tell counts from splice numbers and add them up."""
    said = text.row()[0]
    found = Count(vague=bool(_EITHER.search(said)) or words.says("count_later", said))
    kinds = [k for k in named_kinds(text) if k.count != 0]
    out, _ = excepted(text)
    listed = _listed(kinds, context)
    for row in _standing(text):
        # From 2000 on a number may be a year or an hour, unless the log has come near it.
        most = max(1999, context.highest + FAR)
        numbers = [n for n in row.numbers if isinstance(n, int) and n <= most]
        if not numbers or numbers == [0] or set(numbers) <= set(out) or is_other(text, row):
            continue
        kind = next((k for k in kinds if row.start <= k.count_at < row.end), None)
        if kind is None and _tells_where(text, row, found):
            continue
        goes_on = kind is not None and not kind.plural and _is_next(numbers, found)
        counted = (
            kind is not None and kind not in listed and sum(k.count is not None for k in kinds) > 1 and not goes_on
        )
        _sort(text, context, row, replace(kind, plural=True) if kind and counted else kind, kind in listed, found, out)
    _told_last(text, kinds, found)
    _articles(text, kinds, found)
    _the_one(text, found)
    found.counts = [c for c in found.counts if not _is_share(text, c[1])] or found.counts
    _settle(found)
    if not found.numbers:
        unsaid = bool(_VAGUE.search(said)) or words.says("uncounted", said)
        wished = bool(found.counts) and words.says("wish", said)
        found.vague = found.vague or wished or _hedged(text, found) or (not found.counts and unsaid)
        found.clash = found.clash or not _adds_up(text, found) or found.total > MOST_A_DAY
    elif max(found.numbers) - min(found.numbers) > 200:
        found.clash = True
    return found


def _is_share(text: Text, at: int) -> bool:
    """ "4 butts, Klaas on three of them": counted already."""
    return words.begins("share_of", after(text, at + 1)) or words.begins("share_of", after(text, at + 2))


def _told_last(text: Text, kinds: list[Named], found: Count) -> None:
    """ "flat corner east, thats 8": behind one splice the number is its own, not a total."""
    single = len(kinds) == 1 and kinds[0].count is None and not kinds[0].plural
    if not single or found.numbers or [c for c, _, _ in found.counts] != found.running or len(found.running) != 1:
        return
    number, at, _ = found.counts[0]
    tail = after(text, at + 1)
    if (
        before(text, at).endswith("that is")
        and at > kinds[0].start
        and not re.match(r"(total|in all|all|for|so|today|now)", tail)
    ):
        found.numbers, found.counts, found.running = [number], [], []


def _tells_where(text: Text, row: Row, found: Count) -> bool:
    """ "three butts, one in the middle": "one" behind a count with its kind says where, and adds none."""
    one = row.numbers == (1,) and text.tokens[row.first].spelled
    return one and any(kind for _, _, kind in found.counts) and not COUNTED.match(after(text, row.end))


def _hedged(text: Text, found: Count) -> bool:
    """ "like 5, maybe 6", "unas 5": a guess is no count."""
    heads = [before(text, at) for _, at, _ in found.counts]
    tails = [after(text, at + 1) for _, at, _ in found.counts]
    return any(words.ends("hedge", h) for h in heads) or any(words.begins("hedge_after", t) for t in tails)


def _adds_up(text: Text, found: Count) -> bool:
    """Counts are summed in a list of kinds, places, people or irons, or one after the other; never over a contrast."""
    for (_, at, kind), (_, next_at, next_kind) in itertools.pairwise(found.counts):
        if at == next_at:
            continue
        gap = between(text, at + 1, next_at)
        listed = (kind and next_kind and kind != next_kind) or any(f"<{m}>" in gap for m in ("place", "iron", "time"))
        summed = words.says("summed", gap) or not _STOPS.isdisjoint(gap.split(" "))
        if not listed and (words.says("contrast", gap) or not summed):
            return False
    return True


def _standing(text: Text) -> list[Row]:
    """Rows that the sender did not take back ("5, digo 6")."""
    found = rows(text)
    kept = []
    for i, row in enumerate(found):
        nxt = found[i + 1] if i + 1 < len(found) else None
        gap = " ".join(text.word(k) for k in range(row.end, nxt.start)) if nxt else ""
        if not (nxt and _RETRACT.match(" ".join(w for w in gap.split() if w not in {".", ","}))):
            kept.append(row)
    return kept


def is_other(text: Text, row: Row) -> bool:
    """The number counts people, ends, cuts ..., or splices that are not made."""
    tail, head = after(text, row.end) if text.word(row.end) != "\n" else "", before(text, row.first)
    if words.ends("not_splices", head) and text.word(row.first - 1) in {"los", "las"}:
        return True
    if is_left(head):
        return True
    if not row.signed and (words.ends("wanted_of", head) or words.ends("not_splices", head) or _OF.search(head)):
        return True
    if not row.signed and len(row.numbers) == 1 and words.begins("counts_else", tail):
        return True
    if not row.signed and (words.ends("cut_into", head) or (words.ends("of_place", head) and len(row.numbers) <= 2)):
        return True
    if (_OTHER_NOUN.match(tail) and not row.signed) or _LEFT.match(tail) or words.begins("never_got", tail):
        return True
    strong = any(
        text.word(i) in {"#", "number", "numero", "num", "nos", "no", "splice", "empalme"}
        for i in range(row.start, row.end)
    )
    if not strong and _ELSE.search(head) and not (head.endswith(" y") and len(head) > 2 and not text.spanish):
        return not (head.endswith((" y", " like", " up to", " had")) and (COUNTED.match(tail) or head.endswith(" y")))
    return bool(re.search(r"(paused on|except|menos|instead of|not|nope|no)$", head)) and not (
        row.signed and not head.endswith(("not", "except", "menos"))
    )


def _sort(
    text: Text, context: Context, row: Row, kind: Named | None, listed: bool, found: Count, out: list[int]
) -> None:
    numbers = [n for n in row.numbers if isinstance(n, int)]
    follows = _is_next(numbers, found) and not (kind and kind.plural)
    if listed or follows or are_numbers(text, row, kind, context):
        found.numbers += [n for n in numbers if n not in out and n not in found.numbers]
        return
    if len(numbers) == 1 and kind is None and _RUNNING.search(before(text, row.start)):
        found.running.append(numbers[0])
    for number in numbers:
        found.counts.append((number, row.start, kind.kind if kind else ""))


def _is_next(numbers: list[int], found: Count) -> bool:
    """One number, one up from those that name splices already: "8 9 butts 10 tee"."""
    return bool(found.numbers) and len(numbers) == 1 and numbers[0] == max(found.numbers) + 1


def _listed(kinds: list[Named], context: Context) -> list[Named]:
    """Kinds in the singular that follow numbers one up from another: "18 butt, 19 butt, 20 tee"."""
    single = [k for k in kinds if k.count is not None and not k.plural]
    steps = [b.count - a.count for a, b in itertools.pairwise(single) if a.count is not None and b.count is not None]
    if len(single) < 2 or any(s != 1 for s in steps):
        return []
    first = single[0].count or 0
    return single if first > 2 or (context.gazetteer.places and first == context.highest + 1) else []


def _the_one(text: Text, found: Count) -> None:
    """ "Dewey did two and I did the one": one more beside those counted."""
    row, places = text.row()
    if found.counts and not found.numbers:
        hits = [places[m.start()] for m in words.pattern("the_one_made").finditer(row)]
        found.counts = sorted([*found.counts, *((1, at, "") for at in hits)], key=lambda c: c[1])


def _articles(text: Text, kinds: list[Named], found: Count) -> None:
    """ "two flat corners and a butt": a kind in the singular with an article counts one beside counted kinds."""
    if found.numbers and not any(k for _, _, k in found.counts):
        return
    for kind in kinds:
        article = has_article(text, kind, bool(found.counts))
        if (
            kind.count is None
            and (not kind.plural or text.word(kind.start) in {"en", "de", "d"})
            and article
            and (found.counts or len(kinds) > 1)
        ):
            found.counts.append((1, kind.start, kind.kind))
    found.counts.sort(key=lambda c: c[1])


def _settle(found: Count) -> None:
    """Drop a total that only repeats its parts, and see whether counts and numbers agree."""
    values = [c for c, _, _ in found.counts]
    if (
        len(values) >= 2
        and values[0] == values[1]
        and found.counts[1][1] - found.counts[0][1] <= 3
        and not found.counts[0][2]
    ):
        found.counts.pop(0)
        values.pop(0)
    for i in dict.fromkeys((0, len(values) - 1)):
        if len(values) >= 2 and values[i] == sum(values) - values[i] and (len(values) > 2 or not found.counts[i][2]):
            found.counts.pop(i)
            break
    if found.running and len(found.counts) > 1:
        found.counts = [c for c in found.counts if c[0] not in found.running] or found.counts
    if found.numbers and found.counts:
        size = len(set(found.numbers))
        if (
            found.total == size
            or any(c == size for c, _, _ in found.counts)
            or all(c in found.running for c, _, _ in found.counts)
        ):
            found.counts = []
        elif all(k for _, _, k in found.counts) is False or found.counts:
            found.clash = True
