"""From answers to the one reply: what is said in which order, what is remembered of it. Queues and records nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sitebot.acts import ACTS, REPORTS, Act, Unclear
from sitebot.message import Language, Say
from sitebot.respond import Answer, Desk
from sitebot.respond.briefs import hot_iron_line
from sitebot.talks import Talk
from sitebot.wording import has_phrase, render_all
from sitebot.wording.fit import fit
from sitebot.wording.parts import fold, parts


@dataclass(frozen=True, slots=True)
class Step:
    """One act and what was answered to it."""

    act: Act
    answer: Answer


def reply_text(
    steps: Sequence[Step], asked: Unclear | None, language: Language, desk: Desk, talk: Talk
) -> tuple[str, Talk]:
    """The reply as one text that fits, and the talk with its reason and what did not fit."""
    names = [s.act.name for s in steps]
    if "ask_more" in names:
        text, rest = fit(talk.more or render_all([Say("talk.no_more")], language), language)
        return text, replace(talk, more=rest)
    if "ask_why" in names:
        text, rest = fit(talk.why or render_all([Say("talk.no_why")], language), language)
        return text, replace(talk, more=rest)
    says = [say for s in steps for say in s.answer.says]
    if asked and not any(s.answer.asks for s in steps):
        says.append(question(asked))
    if desk.person is None and any(s.answer.outcome == "refuse" for s in steps):
        if talk.refused == desk.day:
            return "", talk
        talk = replace(talk, refused=desk.day)
    if says and (hot := hot_iron_line(desk)):
        # The loudest matter of all stays on top until somebody says that it is off; only first aid goes before it.
        says.insert(len(says) if {"ask_safety", "unsafe_plan"} & set(names) else 0, hot)
    says += where(picture_of(steps), talk.channel)
    says, left = with_asides(says, [say for s in steps for say in s.answer.aside], language)
    why = render_all([*left, *(say for s in steps for say in s.answer.why)], language)
    text, rest = fit(render_all(says, language), language)
    rest = rest or render_all(left, language)
    # Thanks and small talk leave the reason standing; after a record or a refusal an older one would mislead.
    settled = any(s.answer.outcome in ("record", "refuse") for s in steps if s.act.name != "ack")
    return text, replace(talk, why=why if why or settled else talk.why, more=rest)


def with_asides(says: list[Say], asides: Sequence[Say], language: Language) -> tuple[list[Say], list[Say]]:
    """What is said now: each second thought in turn that leaves the reply in one part of a text; and the others."""
    left: list[Say] = []
    for say in asides:
        fits = len(parts(fold(render_all([*says, say], language)))) == 1
        (says if fits else left).append(say)
    return says, left


def picture_of(steps: Sequence[Step]) -> Mapping[str, object] | None:
    """What picture or file goes with the reply: the first that an answer named."""
    return next((s.answer.picture for s in steps if s.answer.picture), None)


def enclosed(key: str, picture: Mapping[str, object] | None, language: Language) -> Mapping[str, str]:
    """A picture or file as the outbox keeps it, by the key of its message."""
    return {key: json.dumps({"language": language, **picture})} if picture else {}


def where(picture: Mapping[str, object] | None, channel: str) -> tuple[Say, ...]:
    """Where the paper is that a phone line cannot carry."""
    is_paper = picture is not None and bool({"report", "dossier"} & set(picture))
    return (Say("report.where"),) if is_paper and channel == "sms" else ()


def question(asked: Unclear) -> Say:
    """The one short question that settles what is unclear; a plain one where the words have none for it."""
    key = f"questions.{asked.about}"
    return Say(key if has_phrase(key) else "questions.unclear", asked.values)


def outcome_of(steps: Sequence[Step], asked: Unclear | None) -> str:
    """What became of a message as a whole."""
    outcomes = [s.answer.outcome for s in steps]
    if not outcomes:
        return "ask_back" if asked else "ignore"
    if outcomes[0] in ("refuse", "ask_back"):
        return outcomes[0]
    return "record" if "record" in outcomes else outcomes[0]


def done(steps: Sequence[Step]) -> tuple[Act, ...]:
    """The acts as they were settled, latest first: for the next follow-up. A report asked back has told nothing yet."""
    kept = [s for s in steps if s.answer.outcome not in ("ignore", "refuse") and s.act.name in ACTS]
    kept = [s for s in kept if s.answer.outcome != "ask_back" or s.act.name not in REPORTS]
    return tuple(Act(s.act.name, {**s.act.facts, **s.answer.facts}, s.act.confidence) for s in reversed(kept))


def plain(facts: Mapping[str, object]) -> dict[str, object]:
    """Facts as JSON can hold them."""
    kinds = (str, int, float, bool, list, tuple, dict, type(None))
    return {k: list(v) if isinstance(v, tuple) else v for k, v in facts.items() if isinstance(v, kinds)}
