# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Plain cases that any foreman would settle at a glance: each lifts one act over the model's score.

A leaning is only for texts that tell something; what asks, plans or supposes is left to the model.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from sitebot.understand.context import Context
from sitebot.understand.dangers import announced, proposed
from sitebot.understand.facts import words
from sitebot.understand.facts.days import HOURS
from sitebot.understand.facts.defects import first_defect
from sitebot.understand.facts.iron_events import iron_event
from sitebot.understand.facts.judged import is_relayed, splice_rows
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.renewed import is_replacing, renewed
from sitebot.understand.facts.tested import outcome
from sitebot.understand.facts.unmade import is_to_come
from sitebot.understand.facts.verdicts import weighed
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_judged_only, is_planned, is_question, is_supposed

Leaning = Callable[[Text, Context, str], bool]

_NOT_THAT = re.compile(
    r"(<n>|<temp>|<iron>|<place>|<time>|<len>) ?,? ?(not|no|y no|instead of) (a |la |el |en |in |with |con |on |las )*(<n>|<temp>|<iron>|<place>|<time>|<len>)"
    r"| (was|is|era|fue|were|es) (a |an |the |la |una )?(?!reject|pass|fail|good|bad|fine)\S+ ,? ?(not|no|y no) (a |an |la |el |una )?(?!discussion|question|doubt|problem|buts)\S+ (?:[.!] )?$| (wasnt|was not|no era|no fue|is not) .{3,40} (it was|its|it is|era|fue|sino) | (no, sorry|no sorry|i meant|my mistake|my bad|in error|withdraw|oops|fat finger\w*|me equivoque|perdon|correccion|corrijo|should (read|be|list|say|have been)|shoulda been|debe decir|typed as|is really|are swapped|wrong (iron|wall|pour|place|number)|was recorded (as|with)|log says|entry (for|from)|actually|en realidad|mas bien|mejor dicho|quise (decir|poner)|corresponde a|la conte mal|puse mal|esta mal en|no (la|lo) cuentes?|correction|erratum|amend (?:to|no|splice|#|<n>)|amended|revise (?:that|it|the|my|splice)|flip|change (?:no|#|splice|<n>|it|that|the)|se me (fue|volteo|voltearon)) "
)
_HARMED = re.compile(
    r" (nails?|screws?|rebar|rod|bar|drilled|crushed|chewed|ripped|torn|tore|folded|snagged|slag|stepped|stomped|drove|ran over|backed|cut a notch|notched?|spilled|punctured|tie wire|melted a|hole burnt|bucket|skid steer|excavator|split down|clavos?|clavaron|varilla|tajo|rajo|desgarro|aplast\w+|tronaron|agujero|machuco|escoria|pisaron|le cayo|le metieron|le pasaron|amanecio|corte de cutter) "
)


#: The end of a text that says what it was not: ", no Nando", ", no con el 2", ", no tope".
_ENDS_NOT = re.compile(
    r" (,|y|, y) (no|not) (fue |fueron |era |eran |es |son |con |en |de |a |el |la |los |las |un |una |the |an |on |at |with |by |iron )*[^ ,.]+( y \S+)?( (solo|sola|alone|vos|jefe|compa))?( [.!])* $"
)
_TAKEN_BACK = re.compile(
    r" (take|taking|took|takin) (it |that |that one |<n> |# |no )*back | withdraw\w* | (tomo|retiro|echo|quito) .*(de vuelta|atras|lo dicho|mi) "
)


def sets_right(text: Text) -> bool:
    """Says one thing and not the other, as a correction does."""
    row = text.row()[0]
    return (
        bool(_NOT_THAT.search(row))
        or any(words.says(key, row) for key in ("not_mine", "lifts", "right_is", "own_mistake"))
        or (bool(_ENDS_NOT.search(row)) and _is_of_record(text, row))
    )


def _is_of_record(text: Text, row: str) -> bool:
    """One splice or the last entry, and how it was made; no verdict and no list of what was done."""
    named = splice_rows(text)
    one = (len(named) >= 1 and named[0].signed) or text.has("last_one") or words.says("of_count", row)
    said = {k for _, k in weighed(row)} & {"accept", "reject", "poor"}
    done = any(text.has(k) for k in ("fix", "verb.made", "made")) or any(
        words.says(k, row) for k in ("did_he", "did_i")
    )
    return bool(one and not said) and (done or bool(re.search(r" (es|son|va|van|is|are|was|were) ", row)))


def _again(text: Text, row: str) -> bool:
    """Said to be made a second time."""
    return (words.says("again_told", row) or text.has("verb.rework")) and not words.says("again_later", row)


def _iron(text: Text, context: Context, row: str) -> bool:
    event = iron_event(text)
    named = bool(text.of("iron")) or text.has("iron_noun") or text.has("cover_noun")
    if (
        (named_kinds(text) and text.has("made"))
        or text.of("amp", "volt", "watt", "gauge")
        or text.has("remind")
        or re.search(r" (toques|tingles?|tingle|shock\w*|zapped|calambre) ", row)
    ):
        return False
    return event in {"unplugged", "plugged_in", "cover_changed", "fault"} and (
        named or (event == "unplugged" and " unplug" in row)
    )


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
        bool(_HARMED.search(row))
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
        and not _both(text, context, row)
    )


def _lifts(text: Text, context: Context, row: str) -> bool:
    """A verdict taken back by its number."""
    return words.says("lifts", row) and bool(splice_rows(text))


def _judged_anew(text: Text, context: Context, row: str) -> bool:
    """ "35 ACC, not REJ", "reverse 81, rejected": a verdict set right, by whoever says so."""
    told = [(at, key) for at, key in weighed(row) if key in {"accept", "reject"}]
    against = len({k for _, k in told}) > 1 and any(words.ends("not_the_other", row[:at].rstrip()) for at, _ in told)
    mended = bool(told) and words.says("own_mistake", row)
    return bool(splice_rows(text)) and (against or mended) and not words.says("verdict_stays", row)


def _void(text: Text, context: Context, row: str) -> bool:
    return bool(
        re.search(
            r" (never (?:made|welded|did|done)|void|delete|scratch|undo|kill|strike|borra\w*|borren|anul[ae]\w*|quita\w*|quiten|bin|erase|elimin[ae]\w*|tumba(me|la|lo)?) ",
            row,
        )
    ) and (bool(splice_rows(text)) or text.has("last_one"))


def _rework(text: Text, context: Context, row: str) -> bool:
    redone = words.says("we_redid", row) or not is_relayed(text, context)
    return _again(text, row) and bool(splice_rows(text)) and redone


def _replaced(text: Text, context: Context, row: str) -> bool:
    """ "91 replaces 44": both numbers told, as made."""
    return is_replacing(text) and bool(renewed(text)[0]) and not is_planned(text)


def _sample(text: Text, context: Context, row: str) -> bool:
    return text.has("sample") and (bool(outcome(row)) or bool(text.of("pct"))) and not splice_rows(text)


def _inspector(text: Text, context: Context, row: str) -> bool:
    keys = {k for _, k in weighed(row)}
    # With a log before him who judges speaks of its splices: a plain "good" or "no" is his verdict.
    said = bool(keys & ({"accept", "reject", "fine", "poor"} if context.highest else {"accept", "reject"}))
    said = said or bool(context.highest and _NO.search(row))
    return context.judges and said and bool(splice_rows(text)) and not _NOT_THAT.search(row)


#: "4 no, its charred": what stands right behind the number is the verdict, "4 has a spot not fused" is a finding.
_NO = re.compile(r"<(n|range)> ,? ?(is |are |s )?(a )?(no|nope|nah|out) ([,.;:]|it|its|hay|esta|trae|tiene|$)")


def _judged(text: Text, context: Context, row: str) -> bool:
    """The same with a log: known numbers and a verdict from who may give it are hardly anything else."""
    known = [n for r in splice_rows(text) for n in r.numbers]
    return _inspector(text, context, row) and bool(context.highest) and all(n <= context.highest for n in known)


def _both(text: Text, context: Context, row: str) -> bool:
    """ "13 is accepted, 14 opened, 14 reject": known splices, each with a verdict in so many words."""
    keys = {k for _, k in weighed(row)}
    known = {n for r in splice_rows(text) for n in r.numbers}
    return context.judges and {"accept", "reject"} <= keys and len(known) > 1 and max(known) <= context.highest


def _withdrawn(text: Text, context: Context, row: str) -> bool:
    """ "take back 13, it opened. reject": the new verdict stands in it."""
    keys = {k for _, k in weighed(row)}
    return context.judges and bool(keys & {"accept", "reject"}) and bool(_TAKEN_BACK.search(row))


_ORDERED = re.compile(
    r" (reject|fail|accept|pass) (it|that|this|them|em|that one|this one|both|all of them) "
    r"| (rechace|rechaza|acepte|acepta|apruebe|aprueba)(la|lo|las|los|me la|me lo) "
)


def _ordered(text: Text, context: Context, row: str) -> bool:
    """ "reject it": said by who judges, it is the verdict."""
    return context.judges and bool(_ORDERED.search(row))


def _passed_on(text: Text, context: Context, row: str) -> bool:
    keys = {k for _, k in weighed(row)}
    return (
        context.role != "inspector"
        and is_relayed(text, context)
        and bool(keys & {"accept", "reject", "poor", "fine", "not"})
        and bool(splice_rows(text))
        and not _again(text, row)
    )


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


def _release(text: Text, context: Context, row: str) -> bool:
    return bool(text.of("place")) and bool(
        re.search(
            r" (released|releasing|pour release|liberado|liberada|libero|liberacion|autorizado el (vaciado|colado)) ",
            row,
        )
    )


def _made(text: Text, context: Context, row: str) -> bool:
    told = (
        text.has("made")
        and not is_to_come(text)
        and (bool(splice_rows(text)) or any(k.count for k in named_kinds(text)))
    )
    return (
        told
        and not is_planned(text)
        and not text.has("sample")
        and not text.has("others_work")
        and not _NOT_THAT.search(row)
        and not {k for _, k in weighed(row)} & {"accept", "reject"}
        and not _again(text, row)
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
        and not _again(text, row)
    )


def _at_known(text: Text, context: Context, row: str) -> bool:
    """ "2 tees ring wall A": splices with their number or count at a place of the site, and no word that it is none."""
    known = any(m.value in context.gazetteer.places for m in text.of("place"))
    told = any(k.count for k in named_kinds(text)) or (bool(splice_rows(text)) and bool(named_kinds(text)))
    aside = text.has("sample") or text.has("others_work") or is_planned(text) or _again(text, row)
    judged = {k for _, k in weighed(row)} & {"accept", "reject", "fine", "poor"}
    return known and told and not aside and not judged and not _NOT_THAT.search(row) and not text.has("pour")


LEANINGS: tuple[tuple[str, Leaning, float], ...] = (
    ("unsafe_plan", announced, 0.8),
    ("report_iron", _iron, 0.8),
    ("report_iron", _reading, 0.6),
    ("report_damage", _damage, 1.0),
    ("amend", _amend, 0.9),
    ("amend", _void, 0.9),
    ("amend", _lifts, 1.2),
    ("amend", _judged_anew, 2.2),
    ("report_rework", _rework, 0.9),
    ("report_rework", _replaced, 1.5),
    ("report_sample", _sample, 0.7),
    ("report_inspection", _inspector, 0.7),
    ("report_inspection", _judged, 0.8),
    ("report_inspection", _withdrawn, 0.8),
    ("report_inspection", _both, 1.2),
    ("report_inspection", _ordered, 0.8),
    ("report_inspection", _passed_on, 0.7),
    ("plan_pour", _pour, 0.7),
    ("plan_day", _hours, 1.2),
    ("release_pour", _release, 0.8),
    ("report_splices", _made, 0.4),
    ("plan_splices", _to_come, 0.8),
    ("report_splices", _at_known, 0.6),
)


def asked(text: Text, context: Context) -> bool:
    """A question, unless it is the short verdict of who may give one."""
    return is_question(text) and not (context.judges and context.highest and is_judged_only(text))


def leanings(text: Text, context: Context) -> dict[str, float]:
    """What the plain cases add to the score of each act."""
    row = text.row()[0]
    if asked(text, context) or is_supposed(text):
        return {"unsafe_plan": 1.2} if proposed(text, row) else {}
    found: dict[str, float] = {}
    for act, leaning, weight in LEANINGS:
        if leaning(text, context, row):
            found[act] = found.get(act, 0.0) + weight
    return found
