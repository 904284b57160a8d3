# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Plain cases that any foreman would settle at a glance: each lifts one act over the model's score.

A leaning is only for texts that tell something; what asks, plans or supposes is left to the model.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from sitebot.understand import leaning_verdicts
from sitebot.understand.context import Context
from sitebot.understand.dangers import announced, proposed
from sitebot.understand.facts import words
from sitebot.understand.facts.days import HOURS, may_pour
from sitebot.understand.facts.defects import first_defect
from sitebot.understand.facts.iron_events import told_event
from sitebot.understand.facts.judged import is_relayed, splice_rows
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.renewed import is_replacing, renewed
from sitebot.understand.facts.tested import outcome
from sitebot.understand.facts.unmade import is_to_come, made_only
from sitebot.understand.facts.verdicts import weighed
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_judged_only, is_planned, is_question, is_supposed
from sitebot.understand.setting_right import NOT_THAT, is_again, sets_right

Leaning = Callable[[Text, Context, str], bool]

_HARMED = re.compile(
    r" (nails?|screws?|rebar|rod|bar|drilled|crushed|chewed|ripped|torn|tore|folded|snagged|slag|stepped|stomped|drove|ran over|backed|cut a notch|notched?|spilled|punctured|tie wire|melted a|hole burnt|bucket|skid steer|excavator|split down|clavos?|clavaron|varilla|tajo|rajo|desgarro|aplast\w+|tronaron|agujero|machuco|escoria|pisaron|le cayo|le metieron|le pasaron|amanecio|corte de cutter) "
)


def _iron(text: Text, context: Context, row: str) -> bool:
    event = told_event(text)
    named = bool(text.of("iron")) or text.has("iron_noun") or text.has("cover_noun")
    if (
        (named_kinds(text) and text.has("made"))
        or text.of("amp", "volt", "watt", "gauge")
        or text.has("remind")
        or re.search(r" (toques|tingles?|tingle|shock\w*|zapped|calambre) ", row)
    ):
        return False
    return event in {"unplugged", "plugged_in", "cover_changed", "fault", "hot"} and (
        named
        or (event == "unplugged" and " unplug" in row)
        or (event in {"plugged_in", "unplugged"} and len(text.tokens) <= SHORT and not text.of("n", "range", "place"))
    )


#: Words of a text that can hardly be about anything else than the one thing it names: "hooked up and heating".
SHORT = 6


def _reading(text: Text, context: Context, row: str) -> bool:
    return (
        bool(text.of("temp"))
        and (bool(text.of("iron")) or text.has("iron_noun") or " pyro " in row)
        and not (context.judges and splice_rows(text))
        and not named_kinds(text)
        and not text.has("made")
    )


def _damage(text: Text, context: Context, row: str) -> bool:
    harmed = (
        bool(_HARMED.search(row) or words.says("hit_by", row))
        and not text.has("sample")
        and not text.has("cover_noun")
        and not text.has("iron_noun")
    )
    judged = context.role in {"inspector", "lead"} and bool({k for _, k in weighed(row)} & {"accept", "reject"})
    return harmed and not judged and bool(splice_rows(text) or text.of("place")) and not text.has("release")


def _amend(text: Text, context: Context, row: str) -> bool:
    return (
        sets_right(text)
        and bool(text.of("n", "temp", "iron", "place", "time", "len") or text.has("last_one"))
        and not text.has("sample")
        and not leaning_verdicts.both(text, context, row)
    )


def _lifts(text: Text, context: Context, row: str) -> bool:
    """A verdict taken back by its number."""
    return words.says("lifts", row) and bool(splice_rows(text))


def _judged_anew(text: Text, context: Context, row: str) -> bool:
    """ "35 ACC, not REJ", "reverse 81, rejected": a verdict set right, by whoever says so."""
    told = [(at, key) for at, key in weighed(row) if key in {"accept", "reject"}]
    against = len({k for _, k in told}) > 1 and any(words.ends("not_the_other", row[:at].rstrip()) for at, _ in told)
    mended = bool(told) and (words.says("own_mistake", row) or words.says("from_verdict", row))
    afresh = words.says("verdict_stays", row) or leaning_verdicts.both(text, context, row)
    return bool(splice_rows(text)) and (against or mended) and not afresh


def _says_it_mends(text: Text, context: Context, row: str) -> bool:
    """ "corrección al 14: ...", "swap the iron on 27 to the small one": it is said to be a correction."""
    headed = words.begins("correction_head", row.strip()) or words.says("changes_fact", row)
    named = bool(splice_rows(text) or text.has("last_one"))
    return headed and named and not leaning_verdicts.both(text, context, row)


def _void(text: Text, context: Context, row: str) -> bool:
    return bool(
        re.search(
            r" (never (?:made|welded|did|done)|void|delete|scratch|undo|kill|strike|borra\w*|borren|anul[ae]\w*|quita\w*|quiten|bin|erase|elimin[ae]\w*|tumba(me|la|lo)?) ",
            row,
        )
        or words.says("forgets", row)
    ) and (bool(splice_rows(text)) or text.has("last_one") or words.says("last_entry", row))


_ERASED = re.compile(r" (void|delete|erase|anul[ae]\w*|borr[ae]\w*|elimin[ae]\w*) ")


def _rework(text: Text, context: Context, row: str) -> bool:
    redone = words.says("we_redid", row) or not is_relayed(text, context)
    if context.role == "inspector" and {k for _, k in weighed(row)} & {"accept", "reject"}:
        return False
    if _ERASED.search(row):
        return False  # "anula la 162, esta repetida"
    return is_again(text, row) and bool(splice_rows(text)) and redone


def _replaced(text: Text, context: Context, row: str) -> bool:
    """ "91 replaces 44": both numbers told, as made."""
    return is_replacing(text) and bool(renewed(text)[0]) and not is_planned(text)


def _sample(text: Text, context: Context, row: str) -> bool:
    return text.has("sample") and (bool(outcome(row)) or bool(text.of("pct"))) and not splice_rows(text)


def _pour(text: Text, context: Context, row: str) -> bool:
    return (
        bool(text.of("place"))
        and bool(text.of("date", "time"))
        and bool(
            re.search(
                r" (pour|pouring|poured|concrete|trucks?|pump|colado|colamos|cuelan|vacian|hormigonado|vaciado|mixer|goes in) ",
                row,
            )
        )
        and not text.has("release")
        and not _release(text, context, row)
        and not named_kinds(text)
        and not _hours(text, context, row)
    )


def _hours(text: Text, context: Context, row: str) -> bool:
    """When people come or stop: an hour with its word, and nothing welded, hot, poured or sampled beside it."""
    said = words.says("day_ends", row) or words.says("day_starts", row)
    bare = bool(text.of("date")) and any(isinstance(m.value, int) and 1 <= m.value <= HOURS for m in text.of("n"))
    beside = text.of("temp", "iron") or named_kinds(text) or (splice_rows(text) and not bare)
    about = text.has("sample") or text.has("iron_noun") or text.has("made") or text.has("event.unplugged")
    return said and (bool(text.of("time")) or bare) and not beside and not about


def _may_pour(text: Text, context: Context, row: str) -> bool:
    """ "pueden colar el muro 4": from the inspector it is the release."""
    return may_pour(text, context)


def _release(text: Text, context: Context, row: str) -> bool:
    return bool(text.of("place")) and bool(
        re.search(
            r" (released|releasing|pour release|(visto bueno|luz verde|ok|permiso) (para|de|a) (el |la |que )?(hormigon\w*|col\w+|vaci\w+|fund\w+)|let <place> go|cleared for (pour\w*|concrete)|liberado|liberada|libero|liberacion|autorizado el (vaciado|colado)) ",
            row,
        )
    )


def _made(text: Text, context: Context, row: str) -> bool:
    told = (
        text.has("made")
        and not is_to_come(text)
        and (bool(splice_rows(text)) or any(k.count or not k.plural for k in named_kinds(text)))
    )
    return (
        told
        and not is_planned(made_only(text))
        and not text.has("sample")
        and not text.has("others_work")
        and not NOT_THAT.search(row)
        and not {k for _, k in weighed(row)} & {"accept", "reject"}
        and not is_again(text, row)
    )


def _to_come(text: Text, context: Context, row: str) -> bool:
    """Splices of another day or hour, and none that are made."""
    told = bool(splice_rows(text) or named_kinds(text) or (text.of("n") and text.of("place")))
    return (
        told
        and is_to_come(text)
        and not sets_right(text)
        and not any(text.has(k) for k in ("sample", "rework", "pour"))
        and not first_defect(row)
        and not is_again(text, row)
    )


def _at_known(text: Text, context: Context, row: str) -> bool:
    """ "2 tees ring wall A": splices with their number or count at a place of the site, and no word that it is none."""
    known = any(m.value in context.gazetteer.places for m in text.of("place"))
    told = any(k.count for k in named_kinds(text)) or (bool(splice_rows(text)) and bool(named_kinds(text)))
    aside = text.has("sample") or text.has("others_work") or is_planned(text) or is_again(text, row)
    judged = {k for _, k in weighed(row)} & {"accept", "reject", "fine", "poor"}
    return known and told and not aside and not judged and not NOT_THAT.search(row) and not text.has("pour")


LEANINGS: tuple[tuple[str, Leaning, float], ...] = (
    ("unsafe_plan", announced, 0.8),
    ("report_iron", _iron, 0.8),
    ("report_iron", _reading, 0.6),
    ("report_damage", _damage, 1.0),
    ("amend", _amend, 0.9),
    ("amend", _void, 0.9),
    ("amend", _lifts, 1.2),
    ("amend", _judged_anew, 2.2),
    ("amend", _says_it_mends, 1.2),
    ("report_rework", _rework, 0.9),
    ("report_rework", _replaced, 1.5),
    ("report_sample", _sample, 0.7),
    ("report_inspection", leaning_verdicts.inspector, 0.7),
    ("report_inspection", leaning_verdicts.judged, 0.8),
    ("report_inspection", leaning_verdicts.withdrawn, 0.8),
    ("report_inspection", leaning_verdicts.both, 2.4),
    ("report_inspection", leaning_verdicts.ordered, 0.8),
    ("report_inspection", leaning_verdicts.passed_on, 0.7),
    ("report_inspection", leaning_verdicts.claimed, 1.2),
    ("plan_pour", _pour, 0.7),
    ("plan_day", _hours, 1.2),
    ("release_pour", _release, 0.8),
    ("release_pour", _may_pour, 1.6),
    ("report_splices", _made, 0.4),
    ("plan_splices", _to_come, 0.8),
    ("report_splices", _at_known, 0.6),
)


def asked(text: Text, context: Context) -> bool:
    """A question, unless it is the short verdict of who may give one."""
    named = context.highest or bool(splice_rows(text))
    return is_question(text) and not (context.judges and named and is_judged_only(text))


def leanings(text: Text, context: Context) -> dict[str, float]:
    """What the plain cases add to the score of each act."""
    row = text.row()[0]
    if asked(text, context) or is_supposed(text):
        return {"unsafe_plan": 1.6} if proposed(text, row) else {}
    found: dict[str, float] = {}
    for act, leaning, weight in LEANINGS:
        if leaning(text, context, row):
            found[act] = found.get(act, 0.0) + weight
    return found
