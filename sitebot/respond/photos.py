"""Photos: kept with the splice they show, or asked about. Nobody's guess: without a word they wait.

The bytes lie on the disk already and were looked at; here is only what the record says of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.entries import Entry, PhotoKept, PhotoPlaced
from sitebot.message import Say, Term
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.places import place_of

#: One photo shows at most so many splices; of more, somebody says which.
MOST_SHOWN = 4
#: What else a photo may show.
THINGS = ("sample", "cover", "place", "none")
#: Where an act keeps the splices it names, the newest meaning first.
_NAMED = ("made", "judged", "numbers", "number", "target")


def named(facts: Mapping[str, Any], act: str = "") -> dict[str, Any]:
    """What an act names that a photo may show: splices, else a sample or a cover, else a place."""
    for key in _NAMED:
        told = facts.get(key)
        numbers = [told] if isinstance(told, int) else told if isinstance(told, list | tuple) else []
        if numbers and all(isinstance(n, int) for n in numbers):
            return {"numbers": list(numbers), **({"place": facts["place"]} if facts.get("place") else {})}
    if act == "report_sample" or (act == "report_iron" and facts.get("event") == "cover_changed"):
        return {"of": "sample" if act == "report_sample" else "cover"}
    if facts.get("of") in THINGS:
        return {"of": facts["of"]}
    return {"place": facts["place"]} if facts.get("place") else {}


def answer(act: Act, desk: Desk) -> Answer:
    """Keep what came, place what it shows, ask where nobody said."""
    facts = act.facts
    kept = {p.sha256: p for p in desk.log.photos()}
    new = {p["sha256"]: p for p in facts.get("new") or []}
    hashes = [*new, *(h for h in facts.get("photos") or [] if h in kept)]
    says = [Say(f"photos.not_{why}") for why in dict.fromkeys(facts.get("refused") or [])]
    if not hashes:
        return Answer(tuple(says), "refuse" if says else "ignore")
    shown, unknown = shows(facts, desk)
    if not new and not shown and not unknown:
        # A text after the photo that names nothing: the photo goes on waiting.
        return Answer(outcome="ignore")
    entries = [_kept(p, shown, desk) for h, p in new.items() if h not in kept]
    entries += [e for h in hashes if h in kept and (e := _placed(h, kept[h].numbers, shown))]
    again = [h for h in new if h in kept]
    waits = [h for h in hashes if not shown and not (h in kept and not kept[h].waits)]
    says += _says(len(hashes) - len(again), shown, unknown)
    says += [Say("photos.again", {"numbers": sorted({n for h in again for n in kept[h].numbers})})] if again else []
    if waits and not unknown:
        says.append(Say("photos.which"))
    asks = Unclear("number", choices=((Act("report_photo", {"photos": waits}),),)) if waits else None
    return Answer(tuple(says), "record", tuple(entries), facts={"numbers": shown.get("numbers", [])}, asks=asks)


def shows(facts: Mapping[str, Any], desk: Desk) -> tuple[dict[str, Any], list[int]]:
    """What the photo shows, as the log knows it; and the numbers it does not know."""
    numbers = [int(n) for n in facts.get("numbers") or []]
    unknown = [n for n in numbers if desk.log.splice(n) is None]
    known = tuple(n for n in dict.fromkeys(numbers) if n not in unknown)
    if known and len(known) <= MOST_SHOWN:
        return {"numbers": known}, unknown
    if facts.get("of") in THINGS:
        return {"of": facts["of"]}, []
    place = place_of(facts.get("place"), desk)
    return ({"of": "place", "place": place}, []) if place and not unknown else ({}, unknown)


def _kept(photo: Mapping[str, Any], shown: Mapping[str, Any], desk: Desk) -> Entry:
    return PhotoKept(**photo, **shown, day=desk.day)


def _placed(sha256: str, numbers: Sequence[int], shown: Mapping[str, Any]) -> Entry | None:
    """What a photo kept before shows now; nothing where the log knows it."""
    fresh = tuple(n for n in shown.get("numbers", ()) if n not in numbers)
    if fresh:
        return PhotoPlaced(sha256=sha256, numbers=fresh)
    return PhotoPlaced(sha256=sha256, **shown) if shown.get("of") and not numbers else None


def _says(n: int, shown: Mapping[str, Any], unknown: Sequence[int]) -> list[Say]:
    says = [Say("photos.unknown", {"numbers": list(unknown)})] if unknown else []
    if n and shown:
        of = None if shown.get("numbers") else shown.get("place") or Term(f"photo.{shown['of']}")
        values = {"n": n, "of": of, "numbers": list(shown.get("numbers", ()))}
        says.insert(0, Say("photos.kept" if n == 1 else "photos.kept_n", values))
    return says
