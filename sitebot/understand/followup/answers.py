"""Short texts that answer us: a question, a reminder; and the few plain requests that need no matter before them."""

from __future__ import annotations

import re
from dataclasses import replace

from sitebot.acts import Act, Unclear
from sitebot.understand.context import Context
from sitebot.understand.followup.talk import asks, plain_numbers
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import begins, either, is_just, says
from sitebot.understand.followup.words import first as first_of
from sitebot.understand.marks import Text
from sitebot.understand.spelling import fold

_THUMBS = ("\U0001f44d", "\u2705", "\U0001f44c")
_TAUGHT = re.compile(r"\W*(?:by|cuando decimos) (.{2,40}?) (?:we mean|means|es|queremos decir|quiere decir) (.{2,40})")


def plain(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "why?", "more", "what's waiting": asked in so many words."""
    for key, name in (("why", "ask_why"), ("more_text", "ask_more"), ("waiting", "ask_waiting"), ("opt_in", "opt_in")):
        if is_just(key, row):
            return [Act(name)]
    if is_just("how_doing", row):
        return [Act("ask_tally", {"period": "today"})]
    if hit := _TAUGHT.fullmatch(row):
        return [Act("teach", {"said": hit[1].strip(), "meant": hit[2].strip()})]
    return None


def settled(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "yes", "1", "the second", "no, still to do", a bare number: the answer to what was asked."""
    pending = context.pending
    if pending is None:
        return None
    if pending.about.startswith("cuts.") or (pending.choices and pending.choices[0][0].name == "ask_cut"):
        return _which_angle(row, pending)
    if len(pending.choices) == 2 and (choice := _chosen(row)) is not None:
        return list(pending.choices[choice])
    return _told(text, row, pending) or (None if _is_other(acts, pending) else _completed(text, pending))


def _is_other(acts: list[Act], pending: Unclear) -> bool:
    """ "1 butt pit 2" is a report of its own, whatever was asked."""
    first = pending.choices[0][0].name if pending.choices and pending.choices[0] else ""
    return any(a.name == "report_splices" != first and a.facts.get("joint") not in (None, "unknown") for a in acts)


def _chosen(row: str) -> int | None:
    if begins("yes", row) or re.fullmatch(r"\W*1\W*", row):
        return 0
    return 1 if begins("no", row) or re.fullmatch(r"\W*2\W*", row) else None


def _told(text: Text, row: str, pending: Unclear) -> list[Act] | None:
    """What was asked for in words: a reason, a place, whether one weld or two."""
    values, places = pending.values, text.of("place")
    if pending.about == "release_reason" and begins("reason", row) and not asks(text):
        # Only what is said as the reason is one: a release against open points is never taken from a stray text.
        reason = text.raw(1, len(text.tokens)).lstrip(" :,")
        return [Act("release_pour", {"place": values.get("place"), "reason": reason[:200]})] if reason else None
    if (
        pending.about == "splices.place"
        and len(places) == 1
        and len(text.tokens) <= places[0].end - places[0].start + 2
    ):
        return [Act("amend", {"target": values.get("numbers"), "change": {"place": places[0].value}})]
    if pending.about == "rework.two" and is_just("two", row):
        return [Act("report_rework", {"numbers": values.get("numbers"), "done": True})]
    return None


def _completed(text: Text, pending: Unclear) -> list[Act] | None:
    """The number that was missing."""
    numbers = plain_numbers(text)
    if not pending.choices or (not numbers and "next" not in pending.values) or len(text.tokens) > 9:
        return None
    if len(text.tokens) > 6 and "next" not in pending.values:
        return None
    first, *others = pending.choices[0]
    if pending.about == "number" and pending.values.get("next"):
        return _numbered(text, first, pending)
    if pending.about in ("splices.count", "count") and len(numbers) == 1:
        return [replace(first, facts={**first.facts, "count": numbers[0]}), *others]
    if pending.about in ("inspection.which", "rework.which", "splices.clash", "number"):
        return [replace(first, facts={**first.facts, "numbers": numbers, "count": len(numbers)}), *others]
    return None


def _numbered(text: Text, first: Act, pending: Unclear) -> list[Act] | None:
    """ "7 then", "ok make em 5 n 6", "yes use that": the numbers of a report whose own were taken."""
    numbers, count = plain_numbers(text), int(pending.values["count"])
    rest = {t.word for i, t in enumerate(text.tokens) if t.form == "word" and text.free(i)}
    row = " ".join(t.word for t in text.tokens)
    if not numbers and begins("yes", row) and not asks(text):
        top = int(pending.values["next"])
        numbers = list(range(top, top + count))
    elif len(numbers) != count or any(not (says("numbering", w) or first_of("kind.", w)) for w in rest):
        return None
    return [replace(first, facts={**first.facts, "numbers": numbers, "count": count})]


def _which_angle(row: str, pending: Unclear) -> list[Act] | None:
    wanted = "inside_deg" if says("inside", row) else "turn_deg" if says("turn", row) else ""
    if not wanted or re.search(r"\d", row):
        return None
    return next((list(choice) for choice in pending.choices if wanted in choice[0].facts), None)


def done(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "done" and a thumbs-up answer the reminder that is open."""
    thumbs = any(t.raw in _THUMBS for t in text.tokens) and not re.search(r"[a-z0-9]", row)
    if context.reminders and (thumbs or is_just("done", row)):
        return [Act("ack", {"what": context.reminders[0]})]
    if "unplug" in context.reminders and is_just("off", row):
        return [Act("ack", {"what": "unplug"})]
    if "preheat" in context.reminders and says("plugged", row) and not says("denied", row) and not asks(text):
        irons = text.of("iron")
        named = [{"iron": m.value} for m in irons] or [{}]
        return [Act("report_iron", {"event": "plugged_in", **iron}) for iron in named]
    return None


def reading(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "188 grados ya", "389 now": a heat and hardly a word beside it is what the iron shows."""
    heats, irons = text.of("temp"), text.of("iron")
    words = [t for i, t in enumerate(text.tokens) if t.form == "word" and text.free(i)]
    if len(heats) != 1 or asks(text) or len(words) > 3 or text.of("place", "range", "n") or says("not_a_reading", row):
        return None
    if any(a.name == "report_iron" and a.facts.get("event", "reading") != "reading" for a in acts):
        return None
    beside = {key: marks[0].value for key, marks in (("iron", irons), ("at", text.of("time"))) if marks}
    return [Act("report_iron", {"event": "reading", "temp_f": heats[0].value, **beside})]


def samples_asked(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "heard you burnt a sample? whats in the log": a question about samples records none."""
    if asks(text) and any(a.name == "report_sample" for a in acts) and says("log_asked", row):
        return [Act("ask_tally", {"of": "samples"})]
    return None


def cover_torn(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """A tear in the iron's cover is no damage to a waterstop: it wants the rule for covers."""
    if any(a.name == "report_damage" and not a.facts.get("numbers") for a in acts) and says("cover", row):
        return [Act("ask_practice", {"topic": "cover", "text": row})]
    return None


def crew_now(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "en la losa seguimos Chepe y yo", "just me and Beck from here on": who goes on working."""
    hit = re.search(rf"(?<!\w){either('crew_now')}(?!\w)(.*)", row)
    if hit is None or asks(text) or context.role == "stranger":
        return None
    words = hit[1].split()
    names = [p for p in context.gazetteer.people if fold(p) in words]
    me = ["me"] if {"yo", "me"} & set(words) else []
    return [Act("set_crew", {"who": [*names, *me]})] if len(names) + len(me) > 1 else None


def sample_again(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "second one good", "passed this time" right after a sample: another sample of the same iron."""
    last = last_act(context)
    good, bad = says("good", row) or says("sample_good", row), says("bad", row) or says("sample_bad", row)
    if last is None or last.name != "report_sample" or good == bad or asks(text) or len(text.tokens) > 10:
        return None
    if not says("this_one", row) or text.of("place", "range") or plain_numbers(text):
        return None
    told = next((a.facts for a in acts if a.facts.get("defect")), {})
    kept = {k: last.facts[k] for k in ("iron", "welders", "profile") if last.facts.get(k)}
    defect = {"defect": told["defect"]} if bad and told else {}
    return [Act("report_sample", {**kept, **defect, "verdict": "fail" if bad else "pass"})]
