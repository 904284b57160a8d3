"""Which act a text is: the model's scores, with the cues that outweigh them.

A cue is a rule a foreman would nod to; each says in ``trace`` why it spoke.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from sitebot.understand.context import Context
from sitebot.understand.features import features
from sitebot.understand.guards import allowed
from sitebot.understand.leanings import leanings
from sitebot.understand.marks import Text
from sitebot.understand.model import Linear

#: So sure, the model needs no word of an act's list: nobody lists all the words people have.
SURE_WITHOUT = 0.5
#: But what is still to come is no report, however it sounds.
NEVER_WITHOUT = {"report_splices"}


@dataclass(frozen=True, slots=True)
class Choice:
    """The acts by score, best first, and the distance between the first two."""

    ranked: tuple[tuple[str, float], ...]
    why: tuple[tuple[str, str], ...] = ()

    @property
    def act(self) -> str:
        """The best act."""
        return self.ranked[0][0]

    @property
    def margin(self) -> float:
        """How far the best is ahead."""
        return self.ranked[0][1] - self.ranked[1][1]

    def rival(self, told: set[str]) -> tuple[str, float]:
        """The best act that the message does not tell as well, and how far behind it is."""
        best = self.ranked[0][1]
        return next((act, best - score) for act, score in self.ranked[1:] if act not in told)


def choose(text: Text, context: Context, model: Linear) -> Choice:
    """Rank the acts for a text."""
    scores = model.scores(features(text, context.role))
    for act, weight in leanings(text, context).items():
        scores[act] += weight
    ranked = sorted(scores.items(), key=lambda s: -s[1])

    def fits(score: tuple[str, float]) -> bool:
        return (score[1] >= SURE_WITHOUT and score[0] not in NEVER_WITHOUT) or allowed(score[0], text, context)

    barred = list(itertools.takewhile(lambda r: not fits(r), ranked))
    barred += [r for r in ranked[len(barred) + 1 : 4] if not fits(r)]
    ranked = [r for r in ranked if r not in barred] + barred
    return Choice(tuple(ranked), tuple(("barred", act) for act, _ in barred))
