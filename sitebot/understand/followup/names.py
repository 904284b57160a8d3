"""The site's own names in the facts of acts: short forms of places, "same wall", numbers told from counts.

Works on what the gazetteer and the talk know; without them nothing is changed.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.words import either, first, says
from sitebot.understand.marks import Text
from sitebot.understand.spelling import fold

_SAME = r"\b(same|mismo|misma)\b"


def settle_names(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act]:
    """Each act with the site's own names for what it speaks of."""
    if not context.gazetteer.places and not context.last and not context.highest:
        return acts
    return [
        _angle_told(
            _same_people(
                _with_me(
                    _numbers_told(
                        _relayed(_placed(_by_letter(act, text, context), row, context), row, context), row, context
                    ),
                    row,
                ),
                row,
                context,
            ),
            row,
        )
        for act in acts
    ]


def _relayed(act: Act, row: str, context: Context) -> Act:
    """ "Ines says 1 and 2 are accepted": a verdict by the name of somebody else is told, not given."""
    names = "|".join(re.escape(fold(n)) for n in context.gazetteer.people)
    if act.name != "report_inspection" or not names:
        return act
    told = re.search(rf"(?<!\w)(?:{names}) {either('tells')}(?!\w)", row)
    return replace(act, facts={**act.facts, "relayed": True}) if told else act


def _with_me(act: Act, row: str) -> Act:
    """ "me tavi and beck": the sender stands first in a row of names."""
    welders = act.facts.get("welders")
    if not welders or "me" in welders or not re.search(rf"\b(me|yo) ,? ?{re.escape(fold(str(welders[0])))}\b", row):
        return act
    return replace(act, facts={**act.facts, "welders": ["me", *welders]})


def _same_people(act: Act, row: str, context: Context) -> Act:
    """ "same two of us": the welders of the report before."""
    if act.name not in ("report_splices", "report_rework") or act.facts.get("welders"):
        return act
    before = next((a.facts["welders"] for a in context.last if a.name == act.name and a.facts.get("welders")), None)
    return replace(act, facts={**act.facts, "welders": before}) if before and says("same_people", row) else act


def _angle_told(act: Act, row: str) -> Act:
    """ "up the wall 90": the number behind a wall is the angle where a cut is asked and none is told."""
    if act.name != "ask_cut" or act.facts.get("legs_deg") or any(k.endswith("turn_deg") for k in act.facts):
        return act
    hit = re.search(r"\b(?:wall|slab|muro|losa|pared) (\d{2,3})\b", row)
    if hit is None or "inside_deg" in act.facts or not 15 <= int(hit[1]) <= 170:
        return act
    angle = float(hit[1])
    return replace(act, facts={**act.facts, **({"turn_deg": angle} if angle == 90 else {"number_deg": angle})})


def _by_letter(act: Act, text: Text, context: Context) -> Act:
    """ "1 butt A": a capital that ends the name of one place only stands for it."""
    if act.name != "report_splices" or act.facts.get("place") or act.facts.get("places"):
        return act
    tails = [p for p in context.gazetteer.places if re.search(r" [A-Za-z]$", p)]
    said = [p for p in tails if any(t.raw == p[-1].upper() for t in text.tokens)]
    shouts = not any(c.islower() for t in text.tokens for c in t.raw)
    return replace(act, facts={**act.facts, "place": said[0]}) if len(said) == 1 and not shouts else act


def _placed(act: Act, row: str, context: Context) -> Act:
    facts = dict(act.facts)
    if facts.get("place"):
        facts["place"] = place_meant(_planned_named(str(facts["place"]), row, context), row, context)
    elif act.name == "report_splices" and not facts.get("places") and (place := _last_place(context)):
        # The same people go on where they were; the reply names the place.
        facts["place"] = place
    return replace(act, facts=facts)


def _planned_named(place: str, row: str, context: Context) -> str:
    """ "floor to wall in barrel 1": the one place of the site that is named whole, where what was found is none."""
    if fold(place) in {fold(p) for p in context.gazetteer.places}:
        return place
    said = [p for p in context.gazetteer.places if re.search(rf"(?<!\w){re.escape(fold(p))}(?!\w)", fold(row))]
    return said[0] if len(said) == 1 else place


def _last_place(context: Context) -> str | None:
    return next(
        (
            str(a.facts["place"])
            for a in context.last
            if a.name in ("report_splices", "report_rework") and a.facts.get("place")
        ),
        None,
    )


def place_meant(said: str, row: str, context: Context) -> str:
    """The planned place: by its name, its mark ("b3"), its one noun ("the slab"), or the same as before."""
    known = context.gazetteer.places
    folded = {fold(p): p for p in known}
    words = fold(said).split()
    if not words or " ".join(words) in folded:
        return folded.get(" ".join(words), said)
    if len(words) == 1 and re.search(_SAME, row) and (last := _last_place(context)):
        return last
    hits = [p for f, p in folded.items() if _is_short_for(words, f.split()) or _is_initials(words, f.split())]
    if len(hits) == 1:
        return hits[0]
    nouns = [p for f, p in folded.items() if set(words) <= set(f.split())]
    return nouns[0] if len(nouns) == 1 else said


def _is_short_for(said: list[str], known: list[str]) -> bool:
    """ "b3", "pour b3" for "wall b3"; "p12" for "pour 12"; "j7" for "joint j7"."""
    tail = known[-1]
    if not re.search(r"\d", tail) or len(known) < 2:
        return False
    mark = said[-1]
    if re.fullmatch(r"\d+", tail):
        return mark == known[0][0] + tail and len(said) == 1
    return mark == tail and (len(said) == 1 or said[0] in ("pour", "place", "joint", "colado", said[-1], known[0]))


def _is_initials(said: list[str], known: list[str]) -> bool:
    """ "cw2", "CW 2" for "clear well 2", "eg" for "east gallery"."""
    short = "".join(w if w.isdigit() else w[0] for w in known)
    return len(known) > 1 and "".join(said) == short


_KIND = r"(?:flat |edge )?(?:butt|corner|tee|cross|wye|recto|tope|te|cruz|esquina)"


def _numbers_told(act: Act, row: str, context: Context) -> Act:
    """ "8 butt" with a singular noun is number 8, not eight of them; "3 4 butts" after number 2 are numbers 3 and 4."""
    facts: dict[str, Any] = dict(act.facts)
    if act.name != "report_splices" or facts.get("numbers") or not context.gazetteer.places:
        return act
    told = [(int(n), kind) for n, kind in re.findall(rf"(?<![\w/.])(\d+) (?:a |de )?({_KIND})(?![a-z])", row)]
    singles = [n for n, _ in told]
    if len(told) > 1 and singles == list(range(singles[0], singles[0] + len(singles))):
        if singles[-1] <= context.highest + 8 and (singles[0] > 2 or facts.get("count") in (None, *singles)):
            return replace(act, facts=_one_each(facts, told))
        return act
    # "9 a tope" has no plural of its own: a number only where it is the next one.
    told = [(n, k) for n, k in told if n >= 3 and (k != "tope" or n == context.highest + 1)]
    if told and all(n <= context.highest + 8 for n, _ in told) and facts.get("count") in (None, *(n for n, _ in told)):
        return replace(act, facts=_one_each(facts, told))
    pair = re.match(rf"^\W*(\d+)[ ,]+(?:n |and |y |& )?(\d+)[ ,]+{_KIND}(?:s|es)\b", row)
    if pair and int(pair[2]) == int(pair[1]) + 1 == context.highest + 2:
        return replace(act, facts={**facts, "numbers": [int(pair[1]), int(pair[2])], "count": 2})
    return act


def _one_each(facts: dict[str, Any], told: list[tuple[int, str]]) -> dict[str, Any]:
    """The facts with these numbers, one splice of its kind each."""
    kinds = [first("kind.", kind) or "unknown" for _, kind in told]
    left = {k: v for k, v in facts.items() if k not in ("joints", "joint")}
    joints = {"joint": kinds[0]} if len(set(kinds)) == 1 else {"joint": "mixed", "joints": dict.fromkeys(kinds, 1)}
    if len(set(kinds)) not in (1, len(kinds)):
        return facts
    return {**left, **joints, "numbers": [n for n, _ in told], "count": len(told)}
