"""What a short text means after what was said just before: "2 more", "and for 60?", "that one's good", "13 too".

Takes what the reader made of the text alone and the same person's last acts; returns what it means in their light.
Without a talk before it (``sitebot read``) nothing is changed here.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.understand.context import Context
from sitebot.understand.marks import Text
from sitebot.understand.named import settle_names
from sitebot.understand.spelling import fold

Follow = Callable[[Text, str, Context, list[Act]], list[Act] | None]

#: A follow-up is short; a longer text speaks for itself.
MOST_WORDS = 12
_MORE = r"\b(more|another|mas|otros?|otras?|nother)\b"
_AGAIN = r"\b(same|again|igual|lo mismo|otra vez|ditto|mismo|misma)\b"
_TOO = r"\b(too|also|as well|tambien)\b"
_REST = r"\b(rest|others|everything else|los demas|las demas|el resto|lo demas)\b"
_YES = r"^\W*(y|yes|yeah|yep|yup|si|simon|ok|okay|sure|correct|right|dale|claro|1|the first|first|la primera|el primero|as made|made)\b"
_NO = r"^\W*(no|nope|nah|2|the second|second|la segunda|el segundo|still to do|por hacer|todavia no)\b"
_MEANT = r"\b(i mean|i meant|meant|quise decir|digo|perdon|sorry|oops|scratch)\b"


def follow(text: Text, context: Context, acts: list[Act]) -> list[Act]:
    """The acts in the light of what came before; the same ones where nothing did."""
    row = " ".join(t.word for t in text.tokens)
    settled = settle_names(text, row, context, _beside(text, row, context, acts))
    if len(text.tokens) <= MOST_WORDS or re.match(r"^\W*(make that|make it|wait|no sorry|sorry|my bad)\b", row):
        for rule in (_answer, _done, _hours, _cut, _redone, _verdict, _defect_told, _more, _correction, _pour_again):
            if (found := rule(text, row, context, settled)) is not None:
                return [_remembering(a, row) for a in settle_names(text, row, context, found)]
    return [_remembering(a, row) for a in settled]


def _last(context: Context, *names: str) -> Act | None:
    return next((a for a in context.last if a.name in names), None)


def _latest(context: Context) -> Act | None:
    return context.last[0] if context.last else None


def _numbers(act: Act | None) -> list[int]:
    """The splices an act made or judged, as it was settled."""
    if act is None:
        return []
    found = act.facts.get("made") or act.facts.get("judged") or act.facts.get("numbers") or []
    return [n for n in found if isinstance(n, int)] if isinstance(found, list) else []


def _plain(text: Text) -> list[int]:
    """Plain whole numbers of the text."""
    out: list[int] = []
    for mark in text.of("n", "range"):
        values = mark.value if isinstance(mark.value, list) else [mark.value]
        out += [int(v) for v in values if isinstance(v, int | float) and float(v).is_integer()]
    return out


# --- a question of ours is answered ---------------------------------------------------------------------------------


def _answer(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "yes", "1", "the second", "no, still to do", a bare number: the answer to what was asked."""
    pending = context.pending
    if pending is None:
        return None
    if pending.about.startswith("cuts.") or (pending.choices and pending.choices[0][0].name == "ask_cut"):
        return _which_angle(row, pending)
    if len(pending.choices) == 2:
        if re.match(_YES, row):
            return list(pending.choices[0])
        if re.match(_NO, row):
            return list(pending.choices[1])
    missing = {"splices.count": "count", "count": "count"}.get(pending.about)
    numbers = _plain(text)
    if missing and len(numbers) == 1 and len(text.tokens) <= 3 and pending.choices:
        first, *others = pending.choices[0]
        return [replace(first, facts={**first.facts, missing: numbers[0]}), *others]
    if pending.about in ("inspection.which", "rework.which", "number") and numbers and pending.choices:
        first, *others = pending.choices[0]
        return [replace(first, facts={**first.facts, "numbers": numbers}), *others]
    return None


def _which_angle(row: str, pending: Unclear) -> list[Act] | None:
    wanted = "inside_deg" if re.search(r"\b(inside|interior|adentro|included|por dentro)\b", row) else ""
    if re.search(r"\b(turn|turns|off straight|gira|giro|vuelta|kick)\b", row):
        wanted = "turn_deg"
    if not wanted or re.search(r"\d", row):
        return None
    return next((list(choice) for choice in pending.choices if wanted in choice[0].facts), None)


# --- reminders and the day ------------------------------------------------------------------------------------------

_DONE = r"\W*(?:ok |all |its |it s |yep |ya |si )?(?:done|did it|did that|will do done|listo|lista|hecho|ya quedo|ya esta|ready)\W*"


def _done(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "done" and a thumbs-up answer the reminder that is open."""
    thumbs = any(t.raw in ("👍", "✅", "👌") for t in text.tokens) and not re.search(r"[a-z0-9]", row)
    if context.reminders and (thumbs or re.fullmatch(_DONE, row)):
        return [Act("ack", {"what": context.reminders[0]})]
    return None


def _hours(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "what time we startin tmrw", "mon back to normal?": a question for the hours of a day."""
    asks = _is_question(text) or re.search(r"\b(what time|when do|when are|a que hora|cuando)\b", row)
    hours = re.search(r"\b(start\w*|back to normal|normal hours|empezamos|entramos|arrancamos|horario)\b", row)
    if (
        not (asks and hours)
        or text.of("time", "n", "iron", "place")
        or re.search(r"\b(weld\w*|iron|cut|sample)\b", row)
    ):
        return None
    dates = text.of("date")
    return [Act("ask_day", {"date": dates[0].value} if dates else {})]


def _beside(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act]:
    """A heat told before a sample's verdict is a reading; "knock off at 2" is an end, not a day off."""
    out = []
    for act in acts:
        if act.name == "plan_day" and (hit := re.search(_ENDS, row)) and not act.facts.get("start"):
            clock = _afternoon(int(hit[1]), int(hit[2] or 0))
            out.append(replace(act, facts={k: v for k, v in act.facts.items() if k != "no_work"} | {"end": clock}))
            continue
        out.append(act)
    names = {a.name for a in acts}
    if (
        "report_sample" in names
        and "report_iron" not in names
        and (hit := re.match(r"^\W*(\d{3})(?: f)?(?: on the iron)? ?[,.]", row))
    ):
        temp = int(hit[1])
        out += [Act("report_iron", {"event": "reading", "temp_f": temp})] if 250 <= temp <= 550 else []
    return out


_ENDS = r"\b(?:knock(?:ing)? off|quit(?:ting)?|wrap(?:ping)? up|done|stop|salimos|terminamos|paramos)(?: \w+)? (?:at|a las) (\d{1,2})(?::(\d\d))?\b"


def _afternoon(hour: int, minute: int) -> str:
    """A quitting time said without am or pm is in the afternoon."""
    return f"{hour + 12 if hour < 8 else hour:02d}:{minute:02d}"


# --- cuts -----------------------------------------------------------------------------------------------------------

_JOINTS = (
    ("cross", r"\b(cross|cruz)\b"),
    ("tee", r"\b(tee|t|te)\b"),
    ("wye", r"\b(wye|ye)\b"),
    ("turn", r"\b(corner|esquina|turn|turns|gira)\b"),
)
_OTHER_MATTERS = (
    "report_splices",
    "report_inspection",
    "report_sample",
    "report_rework",
    "report_iron",
    "amend",
    "ask_practice",
)


def _cut(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "and for 60?", "what if its a tee", "on edge": the cut asked last, with what is new."""
    last = _latest(context)
    if last is None or last.name not in ("ask_cut",):
        return None
    own = acts[0] if acts and acts[0].name == "ask_cut" else None
    if acts and acts[0].name in _OTHER_MATTERS and any(acts[0].facts.get(k) for k in ("numbers", "place", "change")):
        return None
    joint = next((j for j, words in _JOINTS if re.search(words, row)), None)
    angles = [float(m.value) for m in text.of("ang", "n", "temp") if isinstance(m.value, int | float)]
    plane = _plane(row)
    if own and (own.facts.get("turn_deg") is not None or own.facts.get("legs_deg") or own.facts.get("inside_deg")):
        return None if own.facts.get("plane") not in (None, "unknown") else [_with_plane(own, last)]
    if _is_report(row) or not (joint or angles or plane):
        return None
    if len(angles) >= 3:
        return [Act("ask_cut", {"joint": "wye", "plane": "flat", "legs_deg": angles})]
    if joint in ("tee", "cross", "wye") and not angles:
        return [
            Act("ask_cut", {"joint": joint, "plane": last.facts.get("plane", "unknown"), "legs_deg": _square(joint)})
        ]
    if angles:
        return [Act("ask_cut", _new_angle(angles[0], row, last, plane))]
    kept = {k: v for k, v in last.facts.items() if k in ("turn_deg", "inside_deg", "joint", "said_as")}
    return [Act("ask_cut", {**kept, "plane": plane or last.facts.get("plane", "unknown")})] if kept else None


def _is_report(row: str) -> bool:
    return (
        re.search(
            r"\b(done|did|made|welded|good|bad|accept|reject|redid|hicimos|hice|listo|iron|sample|knife|utility)\b", row
        )
        is not None
    )


def _with_plane(own: Act, last: Act) -> Act:
    return replace(own, facts={**own.facts, "plane": last.facts.get("plane", "unknown")})


def _plane(row: str) -> str | None:
    if re.search(r"\b(on edge|edge|de canto|canto|vertical)\b", row):
        return "edge"
    return "flat" if re.search(r"\b(flat|plana|plano|acostad[oa])\b", row) else None


def _square(joint: str) -> list[float]:
    return {"tee": [90, 90, 180], "cross": [90, 90, 90, 90], "wye": [120, 120, 120]}[joint]


def _new_angle(angle: float, row: str, last: Act, plane: str | None) -> dict[str, Any]:
    """A new number is meant as the last one was: as a turn or as an inside angle; told neither, it stays open."""
    said_as = last.facts.get("said_as")
    if re.search(r"\b(inside|interior|por dentro)\b", row) or "180" in row.split():
        said_as = "inside"
    elif re.search(r"\b(turns?|kick|off straight|gira|giro)\b", row):
        said_as = "turn"
    facts: dict[str, Any] = {"joint": "turn", "plane": plane or last.facts.get("plane", "unknown")}
    if said_as == "inside":
        return {**facts, "inside_deg": angle, "turn_deg": 180 - angle, "said_as": "inside"}
    if said_as == "turn" or angle == 90:
        return {**facts, "turn_deg": angle, "said_as": said_as or "turn"} if angle != 90 else {**facts, "turn_deg": 90}
    return {**facts, "number_deg": angle}


def _remembering(act: Act, row: str) -> Act:
    """A cut keeps how its angle was said, for the next bare number."""
    if act.name != "ask_cut" or "said_as" in act.facts or act.facts.get("number_deg") is not None:
        return act
    if re.search(r"\b(inside|included|interior|por dentro|adentro)\b", row) and act.facts.get("inside_deg") is not None:
        return replace(act, facts={**act.facts, "said_as": "inside"})
    if act.facts.get("turn_deg") not in (None, 90):
        return replace(act, facts={**act.facts, "said_as": "turn"})
    return act


# --- verdicts -------------------------------------------------------------------------------------------------------

_GOOD = r"\b(good|ok|okay|fine|accept|accepted|pass|passes|bien|buen[oa]|aceptad[oa]|aprobad[oa]|pasa)\b"
_BAD = r"\b(bad|no good|nope|reject|rejected|fail|junk|mal[oa]?|rechazad[oa]|no pasa)\b"
_THIS = r"^\W*(that|that s|thats|that one|that one s|it|it s|its|this|good|bad|ok|nope|yep|yes|no|the last|last|ese|esa|esta|este|ya|quedo)\b"


def _verdict(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "that one's good", "good now", "nope bad one", "rest good", "13 too"."""
    if _is_question(text) or re.search(r"\b(sample|iron|muestra|plancha|cover|cut|coupon)\b", row):
        return None
    last = _latest(context)
    numbers = _plain(text)
    if re.search(_TOO, row) and numbers and last and last.name == "report_inspection":
        return [Act("report_inspection", {"numbers": numbers, "verdict": last.facts.get("verdict", "accept")})]
    good, bad = re.search(_GOOD, row), re.search(_BAD, row)
    if not (good or bad) or numbers or text.of("place", "range", "temp") or len(text.tokens) > 6:
        return None
    verdict = "reject" if bad else "accept"
    if re.search(_REST, row):
        return [Act("report_inspection", {"numbers": "rest", "verdict": verdict})]
    if last is None or last.name not in ("report_splices", "report_rework", "report_inspection", "amend"):
        return None
    if last.facts.get("void"):
        return None
    if not re.search(_THIS, row) or not _numbers(last):
        return None
    facts: dict[str, Any] = {"numbers": _numbers(last), "verdict": verdict}
    return [Act("report_inspection", {**facts, **_defect_of(acts)})]


def _redone(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "redid it": the splice rejected last."""
    if _plain(text) or not re.search(
        r"\b(redid|redone|did it (over|again)|rehic\w+|rehecho|lo hicimos (otra vez|de nuevo))\b", row
    ):
        return None
    last = _last(context, "report_inspection")
    if last is None or last.facts.get("verdict") != "reject" or _is_question(text) or not _numbers(last):
        return None
    facts = {k: v for k, v in acts[0].facts.items() if k in ("iron", "temp_f", "welders")} if acts else {}
    return [Act("report_rework", {**facts, "numbers": _numbers(last), "done": True})]


def _is_question(text: Text) -> bool:
    return any(t.raw in ("?", "¿") for t in text.tokens)


def _defect_of(acts: list[Act]) -> dict[str, Any]:
    return next(
        ({k: a.facts[k] for k in ("defect", "value", "unit") if k in a.facts} for a in acts if a.facts.get("defect")),
        {},
    )


_DEFECTS = (
    ("porosity", r"\b(pores?|porous|porosity|poros|pinholes?)\b"),
    ("char", r"\b(burnt|charred|char|quemad[oa])\b"),
    ("bubbles", r"\b(bubbles|burbujas)\b"),
    ("unbonded", r"\b(unbonded|gap|despegad[oa]|sin pegar)\b"),
    ("ribs_misaligned", r"\b(ribs|costillas)\b"),
    ("bulb_misaligned", r"\b(bulb|bulbo)\b"),
)


def _defect_told(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "pores" right after a reject that named no defect: its reason."""
    last = _latest(context)
    if (
        last is None
        or last.name != "report_inspection"
        or last.facts.get("verdict") != "reject"
        or last.facts.get("defect")
    ):
        return None
    defect = next((d for d, words in _DEFECTS if re.search(words, row)), None)
    if defect is None or len(text.tokens) > 4 or _plain(text) or _is_question(text):
        return None
    return [Act("report_inspection", {"numbers": _numbers(last), "verdict": "reject", "defect": defect})]


# --- splices --------------------------------------------------------------------------------------------------------

_KINDS = (
    ("flat_corner", r"\b(flat corners?|esquinas? planas?)\b"),
    ("edge_corner", r"\b(edge corners?|esquinas? de canto)\b"),
    ("corner", r"\b(corners?|esquinas?)\b"),
    ("butt", r"\b(butts?|straights?|rectos?|rectas?|topes?)\b"),
    ("tee", r"\b(tees?|te|tes)\b"),
    ("cross", r"\b(cross|crosses|cruz|cruces)\b"),
    ("wye", r"\b(wyes?)\b"),
)


_KIND_WORDS = r"(?:flat |edge )?(?:corners?|butts?|tees?|cross|crosses|wyes?|rectos?|esquinas?(?: planas?| de canto)?|tes?|cruz|cruces)"


def _kind(row: str) -> str | None:
    return next((k for k, words in _KINDS if re.search(words, row)), None)


def _more(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "2 more", "same again", "same but iron 1", "n the tee", "1 corner": another report like the last one."""
    last = _last(context, "report_splices", "report_rework")
    latest = _latest(context)
    if last is None or _is_question(text):
        return None
    if acts and acts[0].name in ("plan_splices", "ask_tally", "report_rework"):
        return None
    if latest is not None and latest.name == acts[0].name == "ask_cut":
        return None
    if re.search(
        r"\b(redid|redo|redone|rehic\w+|sample|muestra|need|will|gonna|tomorrow|falta\w*|cover|remind)\b", row
    ):
        return None
    more, again, kind = re.search(_MORE, row), re.search(_AGAIN, row), _kind(row)
    numbers = _plain(text)
    bare = kind and (_opens_with_and(row) or re.fullmatch(rf"\W*\d{{1,2}} {_KIND_WORDS}\W*", row))
    if not (more or again or bare) or len(numbers) > 1 or text.of("range"):
        return None
    if acts and acts[0].name == "report_splices" and acts[0].facts.get("numbers"):
        return None
    if (
        again
        and latest is not None
        and latest.name not in ("report_splices", "report_rework", "amend", "report_inspection")
    ):
        return None
    facts: dict[str, Any] = {k: last.facts[k] for k in ("joint", "place", "iron", "profile") if last.facts.get(k)}
    facts["count"] = numbers[0] if numbers else (_count(last) if again else 1)
    if again:
        facts |= {k: last.facts[k] for k in ("welders", "joints") if last.facts.get(k)}
    facts |= _named_anew(text, kind)
    return [Act("report_splices", facts)]


def _opens_with_and(row: str) -> bool:
    return re.match(r"^\W*(n|and|y|plus)\b", row) is not None


def _count(act: Act) -> int:
    return int(act.facts.get("count") or len(_numbers(act)) or 1)


def _named_anew(text: Text, kind: str | None) -> dict[str, Any]:
    """What the follow-up itself names takes the place of what was taken over."""
    facts: dict[str, Any] = {}
    if kind:
        facts["joint"] = kind
    for name, mark in (("iron", "iron"), ("place", "place"), ("temp_f", "temp")):
        if found := text.of(mark):
            facts[name] = found[0].value
    return facts


# --- corrections ----------------------------------------------------------------------------------------------------


def _correction(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "378 not 368", "cross i mean", "make that 9 not 8", "wait only 2"."""
    last = _last(context, "report_splices", "report_rework")
    if last is None:
        return None
    if hit := re.search(r"(?<![\w/])(\d+)\s*,? (?:not|no) (\d+)(?![\w/])", row):
        return _swapped(int(hit[1]), int(hit[2]), last)
    if hit := re.match(r"^\W*(?:wait|no|oops|sorry|espera|perdon)?\W*(?:only|just|solo|nomas|son|eran) (\d+)\b", row):
        return [Act("amend", {"target": "last", "change": {"count": int(hit[1])}})] if int(hit[1]) < 60 else None
    kind = _kind(row)
    if kind and re.search(_MEANT, row) and not _plain(text):
        return [Act("amend", {"target": "last", "change": {"joint": kind}})]
    return None


def _swapped(new: int, old: int, last: Act) -> list[Act] | None:
    """Which of the last report's figures the old one was."""
    if last.facts.get("temp_f") is not None and abs(float(last.facts["temp_f"]) - old) < 1:
        return [Act("amend", {"target": "last", "change": {"temp_f": float(new)}})]
    if old in _numbers(last):
        return [Act("amend", {"target": old, "change": {"number": new}})]
    if _count(last) == old:
        return [Act("amend", {"target": "last", "change": {"count": new}})]
    return None


# --- pours ----------------------------------------------------------------------------------------------------------


def _pour_again(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "ok b3 now?": a place and a question mark, from somebody who asks about pours."""
    places = [m.value for m in text.of("place")]
    rest = re.sub(r"[^a-z ]", " ", fold(row))
    small = {"ok", "now", "so", "and", "y", "ya", "ahora", "pour", "then", "how", "about", "what"}
    words = set(rest.split()) - small - {w for p in places for w in fold(str(p)).split()}
    asks = _last(context, "ask_pour") is not None or context.role == "superintendent"
    if len(places) == 1 and _is_question(text) and asks and not words - {"b", "n"}:
        return [Act("ask_pour", {"place": places[0]})]
    return None
