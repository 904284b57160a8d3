"""Corrections of what was just told: its count, its number, its kind, its heat; a splice of the log taken back.

Only what the words before or the log make sure of; a correction that names all by itself is read without this.
"""

from __future__ import annotations

import re

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.splices import KINDS, REPORTS, counted
from sitebot.understand.followup.talk import HEATS, asks, numbers_of, plain_numbers
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import any_of, begins, besides, either, first, says
from sitebot.understand.marks import Text

#: A splice by its number.
_SIGNED = r"(?:# ?|no |splice |number |el |la )*(\d+)(?![\w/:])"


def heat_meant(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "i mean 371", "no, 371", "371 digo": the heat of what was just reported, or of the reading just told."""
    heats = [m for m in text.of("temp", "n") if isinstance(m.value, int | float) and int(m.value) in HEATS]
    last = last_act(context)
    if last is None or len(heats) != 1 or asks(text) or text.of("place", "iron", "time", "range"):
        return None
    words = any_of(["correcting", "meant", "no"])
    rest = besides(row, "correcting", "meant", "no", "heat", "heat_small")
    put_right = re.search(rf"(?<!\w){words}(?!\w)|^(?:it|that) (?:was|is)\b|^(?:era|eran|fue)\b", row)
    if not put_right or rest:
        return None
    heat = float(heats[0].value)
    if last.name in ("ask_practice", "ask_ready"):
        # "whats wrong with 350?" - "it was 370": what was reported before the question.
        last = last_act(context, *REPORTS) or last
    if last.name == "report_iron" and last.facts.get("event") == "reading":
        return [Act("report_iron", {**last.facts, "temp_f": heat})]
    if last.name not in (*REPORTS, "amend") or last.facts.get("void") or not numbers_of(last):
        return None
    return [Act("amend", {"target": numbers_of(last), "change": {"temp_f": heat}})]


def told_late(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "15 was on iron 2 fyi": what a splice of the log was made with, told afterwards."""
    shown = text.row()[0]
    irons, numbers = text.of("iron"), plain_numbers(text)
    hit = re.match(rf" (?:(?:and|y|#|no|number|splice|la|el|btw|also) )*<n> {either('was_on')} <iron> ", shown)
    if hit is None or asks(text) or len(irons) != 1 or len(numbers) != 1 or not 0 < numbers[0] <= context.highest:
        return None
    return [Act("amend", {"target": numbers[0], "change": {"iron": irons[0].value}})]


def iron_meant(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "wait that was iron 2": the iron of what was just reported."""
    last, irons = last_act(context), text.of("iron")
    if last is None or last.name not in (*REPORTS, "amend") or not numbers_of(last) or asks(text) or len(irons) != 1:
        return None
    words = any_of(["correcting", "meant", "no", "was_on"])
    shown = text.row()[0]
    rest = re.sub(rf"(?<!\w){any_of(['correcting', 'meant', 'no', 'was_on', 'heat_small'])}(?!\w)|<iron>", " ", shown)
    if re.findall(r"[a-z0-9<]+", rest) or not re.search(rf"(?<!\w){words}(?!\w)| (?:was|were|era|eran) ", shown):
        return None
    return [Act("amend", {"target": numbers_of(last), "change": {"iron": irons[0].value}})]


def numbered_anew(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "call that 18, its what i painted on", "renumber 14 to 15": the splice just reported, or named, gets another."""
    both = re.match(rf"\W*{either('renumber')} {_SIGNED} (?:to|as|into|a|por|como) {_SIGNED}", row)
    if both and not asks(text) and int(both[1]) <= context.highest:
        return [Act("amend", {"target": int(both[1]), "change": {"number": int(both[2])}})]
    last = last_act(context)
    if last is None or last.name not in (*REPORTS, "amend") or len(numbers_of(last)) != 1 or asks(text):
        return None
    lead = rf"\W*(?:(?:{any_of(['correcting', 'no'])})\W+)?"
    hit = re.match(rf"{lead}{either('call_it')} #? ?(\d+)(?![\w/:])", row)
    hit = hit or re.match(rf"{lead}{either('make_it')} (?:# ?|number |no |numero |la )(\d+)(?![\w/:])", row)
    old = numbers_of(last)[0]
    if hit is None or int(hit[1]) == old or int(hit[1]) > context.highest + 40:
        return None
    return [Act("amend", {"target": old, "change": {"number": int(hit[1])}})]


def correction(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "378 not 368", "cross i mean", "make that 9 not 8", "wait only 2"."""
    last = last_act(context, *REPORTS)
    if last is None:
        return None
    if hit := re.search(r"(?<![\w/])(\d+)\s*,? (?:not|no) (\d+)(?![\w/])", row):
        return _swapped(int(hit[1]), int(hit[2]), last)
    if hit := re.match(
        rf"\W*(?:{any_of(['correcting', 'no'])}\W*)?(?:only|just|solo|nomas|son|eran) (\d\d?)\b"
        r"(?! (?:more|mas|another)\b)",
        _in_digits(text),
    ):
        return [Act("amend", {"target": "last", "change": {"count": int(hit[1])}})]
    if count := _counted_anew(text, last, context):
        return [Act("amend", {"target": "last", "change": {"count": count}})]
    latest = last_act(context)
    if (
        latest is last
        and last.name == "report_splices"
        and (hit := re.fullmatch(rf"\W*{either('no')}\W*(\d\d?)\W*", row))
    ):
        return [Act("amend", {"target": "last", "change": {"count": int(hit[1])}})]
    kind = first("kind.", row)
    if kind and says("meant", row) and not plain_numbers(text):
        return [Act("amend", {"target": "last", "change": {"joint": kind}})]
    return None


def _counted_anew(text: Text, last: Act, context: Context) -> int:
    """ "make that 2, duff pulled another one": so many, and no more said of them; 0 where it names a splice."""
    row = _in_digits(text)
    noun = rf"(?: (?:{any_of(f'kind.{k}' for k in KINDS)}|of (?:them|em|those)))?"
    hit = re.match(
        rf"\W*(?:{either('correcting')}\W*)+(?:it is |it was |its |son |eran |fueron )?(\d\d?){noun}"
        r" ?(?:[,.;!]|then|$)",
        row,
    )
    if hit is None or last_act(context) is not last or last.name != "report_splices":
        return 0
    count = int(hit[1])
    return count if count <= max(4, counted(last) + 3) and count not in numbers_of(last)[1:] else 0


def voided(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "scratch 11, we never welded it": a splice of the log taken back by its number."""
    said = _in_digits(text)
    hit = re.match(rf"\W*(?:{any_of(['correcting', 'no'])}\W+)?{either('void')} {_SIGNED}", said)
    hit = hit or re.search(rf"(?<!\w){either('take')} {_SIGNED} {either('off_log')}(?!\w)", said)
    if begins("void", row) and says("last_one", row) and not plain_numbers(text) and (made := _last_made(context)):
        return [Act("amend", {"target": made, "void": True})]
    unreal = re.search(rf"(?:^|[ #]){_SIGNED},? {either('not_real')}(?!\w)", said)
    hit = hit or unreal
    if hit is None or asks(text) or not (unreal or 0 < int(hit[1]) <= context.highest):
        return None
    return [Act("amend", {"target": int(hit[1]), "void": True})]


def _last_made(context: Context) -> int:
    """The last of the splices just reported; 0 where none were."""
    last = last_act(context, *REPORTS, "amend")
    return numbers_of(last)[-1] if numbers_of(last) else 0


def heat_added(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "forgot temp on 7 was 366": a heat told afterwards for a splice of the log."""
    hit = re.search(r"\b(?:on|of|for|del|de|en el|al) # ?(\d+)\b|\b(?:on|of|for|del|de|en el|al) (\d+)\b", row)
    heats = [m.value for m in text.of("temp", "n") if isinstance(m.value, int | float) and 250 <= m.value <= 550]
    if hit is None or not heats or not (says("forgot", row) and says("heat", row)):
        return None
    number = int(hit[1] or hit[2])
    if not 0 < number <= context.highest:
        return None
    return [Act("amend", {"target": number, "change": {"temp_f": heats[0]}})]


def _swapped(new: int, old: int, last: Act) -> list[Act] | None:
    """Which of the last report's figures the old one was."""
    temp = last.facts.get("temp_f")
    if isinstance(temp, int | float) and abs(temp - old) < 1:
        return [Act("amend", {"target": "last", "change": {"temp_f": float(new)}})]
    if old in numbers_of(last):
        return [Act("amend", {"target": old, "change": {"number": new}})]
    return [Act("amend", {"target": "last", "change": {"count": new}})] if counted(last) == old else None


def _in_digits(text: Text) -> str:
    """The row of words with every whole number in digits: "make that one" as "make that 1"."""
    numbers = {m.start: (m.end, m.value) for m in text.of("n") if isinstance(m.value, int)}
    words, at = [], 0
    while at < len(text.tokens):
        end, shown = numbers.get(at, (at + 1, text.word(at)))
        words.append(str(shown))
        at = end
    return re.sub(r" (?:one|uno|una)(?=\W*$)", " 1", " ".join(words))
