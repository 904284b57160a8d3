# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Signs that speak for an act, each made of several stations' findings; the model learns what each is worth.

A sign names a combination a reader would notice ("a sample, a result, and no question"); it decides nothing by itself.
"""

from __future__ import annotations

import re

from sitebot.understand import lexicon
from sitebot.understand.facts.defects import all_denied, first_defect
from sitebot.understand.facts.iron_events import iron_event
from sitebot.understand.facts.judged import splice_rows
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.tested import outcome
from sitebot.understand.facts.verdicts import weighed
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_planned, is_question, is_supposed, told_sentences
from sitebot.understand.quantities import FEET_FOR


def cues(text: Text, role: str) -> set[str]:
    """The signs of a text."""
    row = text.row()[0]
    asks, planned, supposed = is_question(text), is_planned(text), is_supposed(text)
    mood = "asks" if asks else "supposed" if supposed else "planned" if planned else "tells"
    found = {mood, f"role {role} {mood}"}
    if asks and told_sentences(text):
        found.add("asks and tells")
    found |= _subjects(text, row, mood)
    found |= _splices(text, row, mood)
    found |= _verdicts(text, row, mood, role)
    found |= _iron(text, row, mood)
    found |= _dangers(text, row, mood)
    found |= _days(text, row, mood)
    return found


def _subjects(text: Text, row: str, mood: str) -> set[str]:
    found = set()
    for key in (
        "sample",
        "rework",
        "damage",
        "fix",
        "void",
        "pour",
        "release",
        "remind",
        "no_work",
        "start",
        "cut",
        "power",
        "count_question",
        "status",
        "report_word",
        "crew_word",
        "others_work",
        "made",
        "cover_noun",
        "ready",
    ):
        if text.has(key):
            found.add(f"{key} {mood}")
    if text.has("off_job"):
        found.add("off the job")
    if text.has("others_work") and not text.has("damage") and not splice_rows(text):
        found.add("others only")
    if text.has("damage") and (
        text.has("others_work")
        or text.has("accept")
        or re.search(
            r" (somebody|someone|something|they|crew|bucket|guys|le pasaron|les cayo|carpinteros|amanecio) ", row
        )
    ):
        found.add(f"damaged {mood}")
    return found


def _splices(text: Text, row: str, mood: str) -> set[str]:
    found = set()
    rows, kinds = splice_rows(text), named_kinds(text)
    if kinds:
        found.add(f"kind {mood}")
        if any(k.count for k in kinds):
            found.add(f"counted kind {mood}")
        if text.of("place"):
            found.add(f"kind place {mood}")
    if rows:
        found.add(f"numbers {mood}")
        if text.has("made"):
            found.add(f"numbers made {mood}")
        if kinds:
            found.add(f"numbers kind {mood}")
    if text.of("n") and text.of("place") and text.has("made"):
        found.add(f"made there {mood}")
    if re.search(
        r" (not|no|instead of|wasnt|was not|isnt|is not|no era|y no|ni) (la |el |the |a |an |in |on |iron |plancha |a la |en )*(<n>|<temp>|<time>|<place>|<iron>|<len>|\w+) $",
        row,
    ) or re.search(
        r"(<n>|<temp>|<iron>|<place>|<time>|<len>) ,? ?(not|no|y no|instead of) (a |la |el |en |in |with |con |on )*(<n>|<temp>|<iron>|<place>|<time>|<len>)",
        row,
    ):
        found.add(f"this not that {mood}")
    return found


def _verdicts(text: Text, row: str, mood: str, role: str) -> set[str]:
    found = set()
    keys = [k for _, k in weighed(row)]
    rows = splice_rows(text)
    strong = bool({"accept", "reject"} & set(keys))
    boss = "inspector" if role == "inspector" else "other"
    if strong and rows:
        found.add(f"verdict numbers {boss} {mood}")
    if strong and text.of("place"):
        found.add(f"verdict place {boss} {mood}")
    if keys and rows:
        found.add(f"weak verdict numbers {boss} {mood}")
    defect = first_defect(row)
    if defect:
        found.add(f"defect {mood}")
        found.add(f"defect {defect}")
        if not rows and not text.has("sample"):
            found.add(f"defect alone {boss} {mood}")
        if text.of("len", "pct", "pull"):
            found.add(f"measured {boss} {'numbers' if rows else 'none'} {'strong' if strong else ''}")
    if all_denied(row):
        found.add(f"no defect {mood}")
    if text.has("sample") and outcome(row):
        found.add(f"sample result {mood}")
    if text.has("inspector") and strong:
        found.add(f"inspector verdict {mood}")
    return found


def _iron(text: Text, row: str, mood: str) -> set[str]:
    found = set()
    event = iron_event(text)
    if event:
        found.add(f"event {event} {mood}")
    if text.of("temp"):
        found.add(f"heat {mood} {'iron' if text.of('iron') or text.has('iron_noun') else ''}")
        if len(text.tokens) <= 6:
            found.add(f"heat short {mood}")
    if any(m.unit in {"ft", "m"} and float(m.value) * FEET_FOR[m.unit] >= 20 for m in text.of("len")):
        found.add(f"cord {mood}")
    if text.of("amp", "volt", "watt", "gauge"):
        found.add(f"current {mood}")
    if text.of("dur"):
        found.add(f"duration {mood} {'iron' if text.has('iron_noun') or text.has('event.plugged_in') else ''}")
    if text.of("ang") or text.has("inside_word") or text.has("turn_word"):
        found.add(f"angle {mood}")
    return found


def _dangers(text: Text, row: str, mood: str) -> set[str]:
    found = set()
    for key in lexicon.all_keys():
        if key.startswith("danger.") and text.has(key):
            found.add(f"danger {mood} {'intent' if text.has('intent') else ''}")
        if key.startswith("safe.") and text.has(key):
            found |= {f"safety {mood}", f"hurt {key}"}
        if key.startswith("topic.") and text.has(key):
            found.add(f"practice {mood}")
    if re.search(
        r" (burned my|burnt my|my (hand|arm|finger|thumb|eyes|throat)|his (hand|wrist|arm)|la mano|los dedos|el dedo|dizzy|passed out|me queme|se quemo|me maree|heads?|headache) ",
        row,
    ) and not text.has("sample"):
        found.add("body")
    return found


def _days(text: Text, row: str, mood: str) -> set[str]:
    found = set()
    dated = bool(text.of("date")) or text.has("tomorrow") or text.has("today")
    if dated and text.of("time"):
        found.add(f"day time {mood}")
    if text.of("date") and text.has("no_work"):
        found.add(f"day off {mood}")
    if text.of("place") and text.has("pour"):
        found.add(f"place pour {mood}{' date' if text.of('date') else ''}")
        if text.has("pour_question"):
            found.add(f"pour clear {mood}")
    if text.of("dur") and text.has("remind"):
        found.add("snooze")
    return found
