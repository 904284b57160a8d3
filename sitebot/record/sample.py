"""The sample weld that a splice rests on, as far as somebody told of it."""

from __future__ import annotations

from collections.abc import Iterable

from sitebot.record.values import Sample, Splice


def sample_of(splice: Splice, told: Iterable[Sample]) -> Sample | None:
    """The last sample of its day and iron that passed before it was made; None where it was made without one.

    ``told``: samples in the order they were told. A sample without an iron speaks for all; so does a splice.
    """
    if splice.before_sample or splice.made_at is None:
        return None
    found = None
    for sample in told:
        same_iron = splice.iron is None or sample.iron in (None, "all", splice.iron)
        if sample.day == splice.day and sample.at <= splice.made_at and sample.verdict == "pass" and same_iron:
            found = sample
    return found
