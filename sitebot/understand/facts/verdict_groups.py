"""Numbers with one verdict each, put in order: who follows whom, what is held back, which are alike."""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, field

from sitebot.understand.facts.around import between
from sitebot.understand.facts.defects import first_defect
from sitebot.understand.marks import Text


@dataclass(slots=True)
class Group:
    """Numbers with one verdict and the stretch of the text that says so."""

    numbers: list[int]
    verdict: str
    start: int
    end: int
    held: bool = False
    wide: bool = False
    #: Numbers named only to choose among them ("out of 23 24 25").
    pool: bool = False
    more: list[tuple[int, int]] = field(default_factory=list)


def finish(text: Text, found: list[Group], out: list[int]) -> None:
    """Give groups without a verdict the one that follows; put equal verdicts together; drop empty ones."""
    _pools(found)
    _take_out(found)
    for pool in [g for g in found if g.pool]:
        rest = next((g for g in found if not g.numbers and g.verdict), None)
        if rest:
            rest.numbers = [n for n in pool.numbers if not any(n in g.numbers for g in found if g is not pool)]
    for i, group in enumerate(found):
        likewise = re.search(r" (also|too|tambien|same|likewise|igual) ", between(text, group.start, group.end))
        if i and likewise and not group.verdict and not group.held:
            group.verdict = found[i - 1].verdict
    for group, following in itertools.pairwise(found):
        if not group.verdict and following.held and not following.pool and _is_list_only(text, group):
            group.held = True  # "el 3 y el 4 los miro cuando ...": what is said of the last is said of all
    for i, group in enumerate(found):
        if not group.verdict and not group.held:
            later = [g for g in found[i + 1 :] if g.verdict and g.numbers]
            earlier = [g for g in found[:i] if g.verdict and g.numbers]
            near = later[:1] or earlier[-1:]
            group.verdict = near[0].verdict if near and group.numbers else ""
    if any(g.numbers for g in found):
        only_out = bool(out) and all(set(g.numbers) <= set(out) for g in found)
        found[:] = [g for g in found if g.numbers or ((g.wide or only_out) and g.verdict)]
    found[:] = _merged(text, found)
    for group in found:
        if not group.verdict and group.numbers and set(group.numbers) <= set(out):
            group.held = True


def _is_list_only(text: Text, group: Group) -> bool:
    """Nothing but the numbers and what links them."""
    said = re.sub(r"<\w+>|[^a-z]", " ", between(text, group.start, group.end)).split()
    return not set(said) - {"el", "la", "los", "las", "y", "e", "and", "the", "n", "splice", "splices"}


def _merged(text: Text, found: list[Group]) -> list[Group]:
    """Equal verdicts as one; what was said of a splice before its verdict is its reason."""
    merged: list[Group] = []
    for group in found:
        alike = [g for g in merged if g.verdict == group.verdict and g.numbers and group.numbers and not g.held]
        same = next((g for g in alike if not group.held and _same_cause(text, g, group)), None)
        if same:
            same.numbers += [n for n in group.numbers if n not in same.numbers]
            same.more.append((group.start, group.end))
        else:
            merged.append(group)
    for group in [g for g in merged if g.held]:
        # "take back 11, 3 mm not bonded. reject 11": what was said before is the reason.
        given = next((g for g in merged if not g.held and set(group.numbers) <= set(g.numbers)), None)
        if given and group.numbers:
            given.more.append((group.start, group.end))
    return merged


def _pools(found: list[Group]) -> None:
    """ "looked at 90 91 92, 91 rejected": named only so that one of them can be singled out."""
    for group in found:
        inside = [g for g in found if g is not group and g.verdict and set(g.numbers) < set(group.numbers)]
        if not group.verdict and any(g.numbers for g in inside):
            group.held = group.pool = True


def _take_out(found: list[Group]) -> None:
    """A number judged by itself is taken out of the range it stands in."""
    for group in found:
        for other in found:
            if (
                other is not group
                and len(group.numbers) > len(other.numbers)
                and set(other.numbers) < set(group.numbers)
            ):
                group.numbers = [n for n in group.numbers if n not in other.numbers]


def _same_cause(text: Text, one: Group, other: Group) -> bool:
    causes = [first_defect(between(text, g.start, g.end)) for g in (one, other)]
    return one.verdict == "accept" or not all(causes) or causes[0] == causes[1]
