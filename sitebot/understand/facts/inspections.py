"""Verdicts: which splices, accepted or rejected, for what, and whether somebody else gave them.

Each verdict of a text is one act. Whose word counts is for respond/ to say.
"""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts.defects import defect_facts, first_defect
from sitebot.understand.facts.kinds import named_kinds, refine
from sitebot.understand.marks import Text
from sitebot.understand.numbering import Row, excepted, rows

_LAST = re.compile(r" (last one|the last|el ultimo|la ultima|last weld|ultimo que hicieron|that one|this one|ese ultimo|it is good|it good|last) ")
_TODAY = re.compile(r" (today|hoy|todays|of today) ")
_YESTERDAY = re.compile(r" (yesterday|ayer|de ayer) ")
#: A clause that gives no verdict.
_NO_VERDICT = re.compile(
    r" (hold|pending|on hold|ask me|did not get to|not looked|have not reached|can not see|tomorrow|manana|not inspected|said nothing|want to look|wants|to look at|under blankets|not yet|nothing about|mirar|lo veo|falta ver) "
)
_REJECT = re.compile(
    r" (reject\w*|rejects|eject|fail\w*|flunk\w*|bad|kick\w*|knock\w* back|knocked|red tag\w*|out|no good|ng|nope|condemned|tossed|bounced?|cut-out|cutout|not|no|is not|nae use|dinged|burnt|scorched|lap|overlap|a no|r|rechaz\w*|malos?|malas?|tumb\w*|boto|rebot\w*|no pasan?|no va|no cumplen?|no conforme|baja|fuera|se corta|ninguno|will not|no jala) "
)
_ACCEPT = re.compile(
    r" (accept\w*|acc|pass\w*|good|ok|okay|fine|approv\w*|sign\w*|satisf\w*|happy|stands?|stays|legit|valid|right|sound|yes|thumbs up|correct|sweet as|no objections?|zero rejects|no bad|makes it|nothing to write up|thing wrong|take|took|lifted|cover it|a|all (?:six|<n>)|acept\w*|acepto|aprob\w*|aprueb\w*|pasan?|paso|conformes?|bien|buen[oa]s?|correct[oa]s?|visto bueno|palomita|se queda|sin objecion|dejaron pasar|cero rechazos|no hubo malos|autorizo|firmo|chulos|released?) "
)
_FALSE_REJECT = re.compile(
    r" (not (rejecting|porous|burnt|bad|a pore|a void|opened|charred|failing)|no (pores|bad|porosity|char|voids|rejects|rejected|holes|bubbles|burn|problems?|objections?|encontre|hubo|poros|nada)|none opened|none (rejected|failed|bad)|zero rejects|cero rechazos|no hubo malos|sin objecion|without|nobody rejected|nothing|rejected : none|failing nobody|no (quedo|esta) malo|no bad ones|did not find a thing wrong|not (one|a single)|no me convence|not hing) "
)
_FALSE_ACCEPT = re.compile(
    r" ((is not|not|aint|no|never|nae|isn t|will not|can not|can not to|cannot) (acceptable|good|accept\w*|ok|okay|right|fine|pass\w*|valid|sound|pasan?|paso|va|lo acepto|acepto|conforme|use|le doy el visto bueno|le gusto|cumple\w*)|no good|no le doy el visto bueno|would have (passed|failed)|would have|no pass|no (lo|la) (acepto|paso)|ya habia aceptado|i will accept|no conforme) "
)


def verdict_of(text: str) -> str:
    """accept, reject or nothing, from the words of one clause (padded, masked)."""
    bad = _FALSE_REJECT.sub(" ~ ", _FALSE_REJECT.sub(" ~ ", text))
    good = _FALSE_ACCEPT.sub(" # ", text)
    refused, accepted = bool(_REJECT.search(_FALSE_ACCEPT.sub(" no good ", bad))), bool(_ACCEPT.search(good))
    strong_bad = re.search(r" (reject\w*|fail\w*|rechaz\w*|no pasan?|kick\w*|flunk\w*|tumb\w*|no good|bad|malos?|malas?|eject|ng|no va|no cumple|rebot\w*|boto|red tag\w*|is not|not|knocked|no jala|dinged) ", _FALSE_ACCEPT.sub(" no good ", bad))
    strong_good = re.search(r" (accept\w*|pass\w*|approv\w*|acept\w*|aprob\w*|pasan?|paso|conformes?|good|ok|fine|a pass|stands|so pass|bien|signed) ", good)
    if strong_bad and not strong_good:
        return "reject"
    if strong_good and not strong_bad:
        return "accept"
    if strong_good and strong_bad:
        return "accept" if strong_good.start() > strong_bad.start() and False else ""
    return "reject" if refused and not accepted else "accept" if accepted or bad.count("~") else ""


def is_relayed(text: Text, context: Context) -> bool:
    """Somebody else's verdict is passed on."""
    row = text.row()[0]
    if context.role == "inspector":
        return False
    if re.search(r" (do not need to wait|not here|is not here|without the inspector|inspector is not|insp is not|no hay que esperar|para que esperar|buddy|se equivoco el inspector|made a mistake) ", row) or text.matches(r" wait on the inspector | out sick "):
        return False
    return bool(
        re.search(
            r" (inspector\w*|inspection|inspectora|qc|qa|quality|calidad|supervision|third party|third - party|clerk o works|third-party|the lady|engineer|dictamen|tercero) ", row
        )
        or re.search(r" (nos|me) (tumb\w*|boto|rebot\w*|rechaz\w*|acept\w*|aprob\w*|paso|dio) | ha dado por | dinged us | on us ", row)
    )


class _Part:
    """Numbers and the words around them, up to the next numbers."""

    def __init__(self, row: Row | None, words: str, start: int, end: int) -> None:
        self.row, self.words, self.start, self.end = row, words, start, end


def inspection_acts(text: Text, context: Context) -> list[Act]:
    """All verdicts of a text, the first said first."""
    out, out_at = excepted(text)
    relayed = is_relayed(text, context)
    groups = _verdicts(text, context, out, out_at)
    acts = [Act("report_inspection", _facts(text, group, relayed, out)) for group in groups]
    return acts


def _clauses(text: Text) -> list[tuple[int, int]]:
    """Stretches of the text with at most one row of numbers each."""
    found = [r for r in rows(text) if _is_splice_row(text, r)]
    if not found:
        return [(0, len(text.tokens))]
    cuts = [0]
    for left, right in zip(found, found[1:], strict=False):
        cuts.append(_cut(text, left.end, right.start))
    return list(zip(cuts, [*cuts[1:], len(text.tokens)], strict=True))


def _is_splice_row(text: Text, row: Row) -> bool:
    after = " ".join(text.word(i) for i in range(row.end, row.end + 2))
    before = text.word(row.start - 1)
    if re.match(r"(of them|of em|butts?|tees?|corners?|splices|empalmes|on <place>|ends|hours|joints,|of the|in one|cuts|malas|de los|of those|welds|metros|m )", after) and not row.ranged and len(row.numbers) == 1 and not row.signed:
        return False
    if after.startswith("joints ") and not row.signed and len(row.numbers) == 1:
        return False
    if before in {"all", "other", "the", "those", "both", "los", "las"} and len(row.numbers) == 1 and row.numbers[0] <= 12 and not row.signed:
        return before == "the" and not text.tokens[row.start].spelled
    return all(isinstance(n, int) for n in row.numbers)


def _cut(text: Text, start: int, end: int) -> int:
    """The best place to part two verdicts: a stop, else a comma or "and" nearest the second."""
    for marks in ({".", ";", "\n", "!", "?"}, {","}, {"but", "pero", "y", "and", "no"}):
        places = [i for i in range(start, end) if text.word(i) in marks]
        if places:
            return places[-1] + 1 if marks != {"but", "pero", "y", "and", "no"} else places[-1]
    return end


def _words(text: Text, start: int, end: int) -> str:
    row, places = text.row()
    chars = [i for i, p in enumerate(places[:-1]) if start <= p < end]
    return f" {row[chars[0] : chars[-1] + 1].strip()} " if chars else " "


def _verdicts(text: Text, context: Context, out: list[int], out_at: int) -> list[dict[str, Any]]:
    parts = _clauses(text)
    found: list[dict[str, Any]] = []
    splice_rows = [r for r in rows(text) if _is_splice_row(text, r)]
    whole = verdict_of(text.row()[0])
    for start, end in parts:
        row = next((r for r in splice_rows if start <= r.start < end), None)
        words = _words(text, start, end)
        numbers = [n for n in (row.numbers if row else ())]
        if out and numbers and set(numbers) <= set(out):
            verdict = verdict_of(_words(text, row.start, end)) if row else ""  # type: ignore[union-attr]
            said = first_defect(_words(text, row.end, end)) if row else ""  # type: ignore[union-attr]
            if said or verdict == "reject":
                found.append({"numbers": numbers, "verdict": "reject", "start": start, "end": end, "excepted": True})
            continue
        if _NO_VERDICT.search(words) and not _ACCEPT.search(words) and numbers:
            continue
        verdict = verdict_of(words)
        if not verdict and first_defect(words) and not _FALSE_REJECT.search(words):
            verdict = "reject"
        if numbers or not found:
            found.append({"numbers": [n for n in numbers if n not in out], "verdict": verdict, "start": start, "end": end})
    for group in found:
        if not group["verdict"]:
            group["verdict"] = next((g["verdict"] for g in found if g["verdict"] and g["start"] > group["start"]), "") or whole or "accept" * bool(len(found) > 1)
    return _merged(found)


def _merged(found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Numbers with the same verdict and no defect between them are one act."""
    merged: list[dict[str, Any]] = []
    for group in found:
        same = next((g for g in merged if g["verdict"] == group["verdict"] and g["numbers"] and group["numbers"] and not group.get("excepted") and (group["verdict"] == "accept")), None)
        if same:
            same["numbers"] += group["numbers"]
        else:
            merged.append(group)
    return merged


def _facts(text: Text, group: dict[str, Any], relayed: bool, out: list[int]) -> dict[str, Any]:
    words = _words(text, group["start"], group["end"])
    facts: dict[str, Any] = {"verdict": group["verdict"]}
    if group["numbers"]:
        facts["numbers"] = group["numbers"]
    place = next((m for m in text.of("place") if group["start"] <= m.start < group["end"]), None) or next(iter(text.of("place")), None)
    if place and not group.get("excepted"):
        facts["place"] = place.value
    if not group["numbers"]:
        _wide(facts, text, words)
    if group["verdict"] == "reject":
        facts |= defect_facts(text, group["start"], group["end"])
    if out and not group.get("excepted") and group["verdict"] == "accept" and not (group["numbers"] and False):
        facts["except"] = out
    if relayed:
        facts["relayed"] = True
    return facts


def _wide(facts: dict[str, Any], text: Text, words: str) -> None:
    """A verdict without numbers: on a place, the last one, or all of a day."""
    row = text.row()[0]
    kinds = named_kinds(text)
    if facts.get("place"):
        if len(kinds) == 1 and re.search(r" (the|el|la|that|los|las|<n>) ", row):
            facts["joint"] = refine(kinds[0].kind, text)
    elif _YESTERDAY.search(row) and not _TODAY.search(row):
        facts["numbers"] = "yesterday"
    elif _TODAY.search(row) and not _LAST.search(row):
        facts["numbers"] = "today"
    elif _LAST.search(row) or re.search(r" (it|that|este|ese|esa|good now|bad one|good one) ", row):
        facts["numbers"] = "last"
    elif kinds:
        facts["joint"] = refine(kinds[0].kind, text)


def report_inspection(text: Text, context: Context) -> list[Act]:
    """Verdicts, one act each."""
    return inspection_acts(text, context)
