"""Way (a) of the table in DEVELOPERS.md, lexicon and cues, no model: ``python -m tests.reading.cues_alone``.

Each act is known by meanings of the lexicon that speak for it; a question's act counts where the text asks, a report's
where it tells; leanings and guards are those of the reader. Nothing is learned.
"""

from __future__ import annotations

import time
from collections.abc import Mapping

from sitebot.understand.context import Context
from sitebot.understand.guards import allowed
from sitebot.understand.leanings import leanings
from sitebot.understand.marks import Text
from sitebot.understand.model import packed
from sitebot.understand.mood import is_planned, is_question, is_supposed
from sitebot.understand.reader import speller
from sitebot.understand.reading_marks import read_marks
from tests.reading.train import AUTHORS, NOW, labelled

#: Act to (meanings of the lexicon or kinds of marks that speak for it, the mood it needs).
SIGNS: Mapping[str, tuple[tuple[str, ...], str]] = {
    "ask_cut": (("cut", "turn_word", "inside_word", "leg_word", "<ang>", "angle_flat", "angle_edge"), "asks"),
    "ask_acceptance": (("defect.", "<len>", "<pct>", "verdict.accept"), "asks"),
    "ask_practice": (("topic.",), "asks"),
    "ask_safety": (("safe.",), "asks"),
    "ask_power": (("power", "<amp>", "<volt>", "<gauge>"), "asks"),
    "ask_ready": (("ready", "event.plugged_in", "<dur>"), "asks"),
    "ask_tally": (("count_question", "today", "week"), "asks"),
    "ask_splice": (("status", "<n>"), "asks"),
    "ask_pour": (("pour", "pour_question"), "asks"),
    "ask_crew": (("crew_question",), "asks"),
    "ask_report": (("report_word",), ""),
    "report_splices": (("made", "log_it", "kind.", "<n>", "<place>"), "tells"),
    "report_inspection": (("verdict.accept", "verdict.reject", "inspector", "looked"), "tells"),
    "report_sample": (("sample", "good_word", "bad_word"), "tells"),
    "report_iron": (("event.", "iron_noun", "cover_noun", "<iron>", "<temp>"), "tells"),
    "report_rework": (("rework", "verb.rework"), "tells"),
    "report_damage": (("damage", "others_work"), "tells"),
    "amend": (("fix", "void", "last_one", "verb.fix", "verb.void"), "tells"),
    "release_pour": (("release",), "tells"),
    "plan_pour": (("pour_plan", "pour", "<date>"), "tells"),
    "plan_splices": (("planned", "kind.", "not_made"), "plans"),
    "plan_day": (("start", "no_work", "remind", "<date>", "<time>"), ""),
    "set_crew": (("crew_word",), "tells"),
    "unsafe_plan": (("danger.", "intent"), ""),
    "ack": (("ack",), "tells"),
    "greeting": (("greet",), "tells"),
    "help": (("help_word",), ""),
    "opt_out": (("stop_word",), ""),
    "language": (("language_word",), ""),
    "off_topic": (("off_job",), ""),
}


def said(text: Text, sign: str) -> bool:
    """Whether a meaning, a family of meanings ("defect.") or a mark ("<n>") stands in the text."""
    if sign.startswith("<"):
        return bool(text.of(sign[1:-1]))
    if sign.endswith("."):
        return any(text.has(key) for key in FAMILIES[sign])
    return text.has(sign)


def _families() -> dict[str, tuple[str, ...]]:
    from sitebot.understand import lexicon

    signs = {s for group, _ in SIGNS.values() for s in group if s.endswith(".")}
    return {sign: tuple(k for k in lexicon.all_keys() if k.startswith(sign)) for sign in signs}


FAMILIES = _families()


def act_by_cues(text: Text, context: Context) -> str:
    """The act most of whose signs are there, the mood fitting."""
    asks = is_question(text) or is_supposed(text)
    mood = "asks" if asks else "plans" if is_planned(text) else "tells"
    scores = dict.fromkeys(SIGNS, 0.0)
    for act, (signs, wanted) in SIGNS.items():
        share = sum(said(text, s) for s in signs) / len(signs) ** 0.5
        scores[act] = share * (1.0 if wanted in {"", mood} else 0.4)
    for act, weight in leanings(text, context).items():
        scores[act] += weight
    ranked = sorted(scores, key=lambda act: -scores[act])
    return next(act for act in ranked if allowed(act, text, context))


def main() -> None:
    """Share of chief acts right, and the time of the choice."""
    right, rows, spent = 0, 0, 0.0
    for author in AUTHORS:
        for row in labelled(author):
            context = Context(now=NOW, role=row["who"])
            started = time.process_time()
            act = act_by_cues(read_marks(row["text"], context.gazetteer, speller(packed())), context)
            spent += time.process_time() - started
            also = {a.get("act") for a in row["facts"].get("also", []) if isinstance(a, dict)}
            right += act in {row["act"], *also}
            rows += 1
    print(f"{100 * right / rows:.1f} % of {rows} chief acts, {1000 * spent / rows:.1f} ms a message")


if __name__ == "__main__":
    main()
