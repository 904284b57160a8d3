"""What a short text means after what was said just before: "2 more", "and for 60?", "that one's good", "13 too".

Takes what the reader made of the text alone and the same person's last acts; returns what it means in their light.
Without a talk before it (``sitebot read``) hardly anything is changed here. The words stand in followups.yaml.
"""

from __future__ import annotations

from collections.abc import Callable

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup import (
    acceptance,
    answers,
    asked,
    captions,
    corrections,
    cuts,
    hours,
    just_made,
    pauses,
    pours,
    reworks,
    splices,
    verdicts,
)
from sitebot.understand.followup.beside import beside
from sitebot.understand.followup.names import settle_names
from sitebot.understand.followup.words import begins
from sitebot.understand.marks import Text

Rule = Callable[[Text, str, Context, list[Act]], list[Act] | None]

#: A follow-up is short; a longer text speaks for itself.
MOST_WORDS = 14
#: In this order; the first that speaks decides.
RULES: tuple[Rule, ...] = (
    captions.told,
    answers.plain,
    answers.settled,
    verdicts.heard,
    verdicts.place_good,
    answers.done,
    hours.asked,
    hours.moved_again,
    answers.sample_again,
    asked.whose,
    asked.open_still,
    answers.samples_asked,
    answers.cover_torn,
    answers.crew_now,
    corrections.heat_meant,
    just_made.made_with,
    just_made.made_by,
    just_made.not_made,
    just_made.kind_told,
    corrections.iron_meant,
    reworks.numbered,
    answers.reading,
    cuts.follow,
    asked.again,
    acceptance.judged,
    acceptance.measured,
    acceptance.reject_measured,
    corrections.voided,
    corrections.heat_added,
    corrections.numbered_anew,
    corrections.told_late,
    verdicts.redone,
    verdicts.short,
    verdicts.of_redo,
    verdicts.follow,
    verdicts.defect_told,
    corrections.correction,
    splices.more,
    pours.follow,
)
#: These look at the log and at every number of the text: a long text may say it as well.
OF_ANY_LENGTH: tuple[Rule, ...] = (pauses.told, reworks.remade)


def follow(text: Text, context: Context, acts: list[Act]) -> tuple[list[Act], bool]:
    """The acts in the light of what came before, and whether that decided; the same ones where nothing did."""
    row = " ".join(t.word for t in text.tokens)
    settled = settle_names(text, row, context, beside(text, row, acts))
    is_short = len(text.tokens) <= MOST_WORDS or any(begins(k, row) for k in ("correcting", "void", "call_it"))
    for rule in (pauses.told, *RULES, *OF_ANY_LENGTH) if is_short else OF_ANY_LENGTH:
        if (found := rule(text, row, context, settled)) is not None:
            found = settle_names(text, row, context, found)
            return [_remembering(a, row, text, context) for a in found], True
    return [_remembering(a, row, text, context) for a in settled], False


def _remembering(act: Act, row: str, text: Text, context: Context) -> Act:
    return acceptance.remembering(cuts.remembering(act, row), text, context)
