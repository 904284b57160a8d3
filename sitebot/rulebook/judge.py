"""Judges measures against the limits of a rule. Limits are inclusive; limits of one rule hold together.

The verdict here is arithmetic: it records nothing and is nobody's acceptance.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, Protocol

from sitebot.rulebook.amounts import Amount, amount_of, half_up, in_unit, limit_as_read
from sitebot.rulebook.model import Found, Limit, Rule

Call = Literal["accept", "at_limit", "reject", "need_more"]


class OwnLimit(Protocol):
    """A limit of the site's papers in place of the rule's."""

    @property
    def max(self) -> str | None: ...
    @property
    def min(self) -> str | None: ...
    @property
    def source(self) -> str: ...


Rounding = Literal["as read", "absolute", "rounding"]


@dataclass(frozen=True, slots=True)
class Papers:
    """What of the site's papers bears on limits: metric or inch, and limits of its own by rule id or measure."""

    metric: bool = False
    limits: Mapping[str, OwnLimit] = field(default_factory=dict)
    #: How readings are compared: at the precision of the reading, or by a method that ASTM E29 1.3 tells apart.
    rounding: Rounding = "as read"


INCH_PAPERS = Papers()


@dataclass(frozen=True, slots=True)
class Finding:
    """One limit against one reading."""

    found: Found
    limit: Limit
    reading: Amount | None = None
    #: The bound as the rule has it, and in the unit and at the precision of the reading.
    written: Amount | None = None
    bound: Amount | None = None
    #: What a percentage is taken of, and the reading as that percentage.
    base: Amount | None = None
    share: Amount | None = None
    #: The measure that is lacking.
    missing: str = ""
    #: The site's document, where it replaced the rule's limit.
    source: str = ""

    def arithmetic(self, language: str) -> str:
        """ "15 % x 6 mm = 0.9 mm; 1 mm > 0.9 mm", the same in every language but for its units."""
        if not self.reading:
            return ""
        if not self.bound or self.limit.max == "none":
            return f"{self.reading.words(language)} > 0"
        steps = []
        if self.base and self.written and self.bound.unit != "%":
            product = f"{self.written.words(language)} x {self.base.words(language)}"
            steps.append(f"{product} = {self.bound.words(language)}")
        elif self.written and self.written.unit != self.bound.unit:
            steps.append(f"{self.written.words(language)} = {self.bound.words(language)}")
        steps.append(f"{self.reading.words(language)} {self._sign()} {self.bound.words(language)}")
        return "; ".join(steps)

    def _sign(self) -> str:
        if self.bound and self.reading and self.found in ("within", "at_limit"):
            return "=" if self.reading.number == self.bound.number else "<" if self.limit.min is None else ">"
        return ">" if self.found == "over" else "<"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the rule makes of the measures. ``at_limit`` passes, and it is said that it is at the limit."""

    call: Call
    rule: str
    hash: str
    governs: Finding | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def passes(self) -> bool:
        return self.call in ("accept", "at_limit")

    @property
    def missing(self) -> str:
        return next((f.missing for f in self.findings if f.missing), "")

    def arithmetic(self, language: str) -> str:
        return self.governs.arithmetic(language) if self.governs else ""


def judge(rule: Rule, measures: Mapping[str, Amount], papers: Papers = INCH_PAPERS) -> Verdict:
    """The verdict on ``measures`` (by the names the rule's limits use)."""
    findings = tuple(finding for limit in rule.limits for finding in findings_of(rule.id, limit, measures, papers))
    doubted = [f for f in findings if f.reading and f.missing == f.limit.of]
    if doubted:
        return Verdict("need_more", rule.id, rule.hash, None, tuple(doubted))
    broken = [f for f in findings if f.found in ("over", "under")]
    if broken:
        return Verdict("reject", rule.id, rule.hash, _strictest(broken), findings)
    unknown = [f for f in findings if f.found == "unknown"]
    if unknown:
        return Verdict("need_more", rule.id, rule.hash, _strictest([f for f in findings if f.bound]), findings)
    met = [f for f in findings if f.found == "at_limit"]
    return Verdict("at_limit" if met else "accept", rule.id, rule.hash, _strictest(met or findings), findings)


def outcome(verdict: Verdict) -> Found:
    """The verdict as a case of a rule file names it."""
    if verdict.call == "reject" and verdict.governs:
        return verdict.governs.found
    names: dict[Call, Found] = {"accept": "within", "at_limit": "at_limit", "need_more": "unknown", "reject": "over"}
    return names[verdict.call]


def _strictest(findings: Sequence[Finding]) -> Finding | None:
    """The limit that governs: the smaller of two upper bounds, the larger of two lower ones."""
    bounded = [f for f in findings if f.bound]
    if not bounded:
        return findings[0] if findings else None
    lengths = [f for f in bounded if f.bound and f.bound.unit != "%"] or bounded
    upper = [f for f in lengths if f.limit.max is not None]
    return min(upper, key=_bound) if upper else max(lengths, key=_bound)


def _bound(finding: Finding) -> Fraction:
    return finding.bound.number if finding.bound else Fraction(0)


def findings_of(rule_id: str, limit: Limit, measures: Mapping[str, Amount], papers: Papers) -> Iterable[Finding]:
    """One finding for each bound of the limit."""
    limit, source = replaced(rule_id, limit, papers)
    reading = measures.get(limit.of)
    if reading is None:
        yield Finding("unknown", limit, missing=limit.of, source=source)
    elif limit.max == "none":
        found: Found = "over" if reading.number > 0 else "within"
        yield Finding(found, limit, reading, bound=Amount(Fraction(0), reading.unit), source=source)
    else:
        for side in ("min", "max"):
            written = getattr(limit, side)
            if isinstance(written, Amount):
                stands = _in_papers(limit, written, reading, papers)
                if limit.per is None:
                    yield _against(limit, side, reading, stands, measures, source, papers.rounding)
                else:
                    yield _over_a_run(limit, reading, stands, measures, papers)


def replaced(rule_id: str, limit: Limit, papers: Papers) -> tuple[Limit, str]:
    """The limit with the site's own bound in it, and the document that has it."""
    own = papers.limits.get(rule_id) or papers.limits.get(limit.of)
    if own is None:
        return limit, ""
    found = limit
    for side in ("min", "max"):
        text, written = getattr(own, side), getattr(limit, side)
        bound = amount_of(text) if text else None
        if bound and isinstance(written, Amount) and bound.dimension == written.dimension:
            found = found.model_copy(update={side: bound, "metric": None, "equals": None, "metric_per": None})
    return (found, own.source) if found is not limit else (limit, "")


def _in_papers(limit: Limit, written: Amount, reading: Amount, papers: Papers) -> Amount:
    if papers.metric and limit.metric:
        return limit.metric
    if limit.equals and limit.equals.dimension == reading.dimension and reading.unit in ("mm", "cm", "m", "C"):
        return limit.equals
    return written


def _against(
    limit: Limit,
    side: str,
    reading: Amount,
    written: Amount,
    measures: Mapping[str, Amount],
    source: str,
    rounding: Rounding,
) -> Finding:
    """A reading against one bound; a percentage may have to be taken of a base."""
    base = measures.get(limit.share_of) if limit.share_of else None
    needs_base = (written.unit == "%") != (reading.unit == "%")
    if needs_base and base is None and limit.share_of is None:
        base = measures.get("thickness")
    if needs_base and (base is None or not base.number):
        return Finding("unknown", limit, reading, written, missing=limit.share_of or "thickness", source=source)
    bound = _bound_as_read(written, reading, base, needs_base)
    held = reading
    if needs_base and reading.unit == "%" and base:
        held = Amount(reading.number / 100 * in_unit(base, bound.unit), bound.unit)
    held, bound = _by_method(rounding, held, bound, written)
    found = _compare(held.number, bound.number, side)
    share = _share(base, reading)
    told = reading if reading.unit == "%" else share
    if limit.doubt and told and told.number > limit.doubt.number:
        return Finding("unknown", limit, held, missing=limit.of)
    return Finding(found, limit, held, written, bound, base if needs_base else None, share, "", source)


def _by_method(rounding: Rounding, held: Amount, bound: Amount, written: Amount) -> tuple[Amount, Amount]:
    """Reading and bound by the site's method; "as read" leaves both.

    "For the absolute method all digits of the reading count, for the rounding method the reading is first rounded to
    the last place of the limit" (in our words, ASTM E29 1.3).
    """
    if rounding == "as read" or written.dimension != held.dimension:
        return held, bound
    exact = Amount(in_unit(written, held.unit), held.unit)
    if rounding == "absolute":
        return held, exact
    place = Fraction(1, 10**written.decimals if written.decimals else written.number.denominator)
    step = in_unit(Amount(place, written.unit), held.unit)
    return Amount(round(held.number / step) * step, held.unit), exact


def _over_a_run(
    limit: Limit, reading: Amount, written: Amount, measures: Mapping[str, Amount], papers: Papers
) -> Finding:
    """A bound that is allowed over a length, scaled to the length measured."""
    run = measures.get("run_length")
    per = limit.metric_per if papers.metric and limit.metric_per else limit.per
    if run is None or per is None:
        return Finding("unknown", limit, reading, written, missing="run_length")
    scaled = Amount(written.number * in_unit(run, per.unit) / per.number, written.unit)
    return _against(limit, "max", reading, scaled, measures, "", papers.rounding)


def _share(base: Amount | None, reading: Amount) -> Amount | None:
    """The reading in percent of its base, where both are of one dimension."""
    if base is None or not base.number or base.dimension != reading.dimension:
        return None
    return Amount(half_up(reading.number / in_unit(base, reading.unit) * 100, 1), "%", 1)


def _bound_as_read(written: Amount, reading: Amount, base: Amount | None, needs_base: bool) -> Amount:
    if needs_base and base and written.unit == "%":
        exact = written.number / 100 * in_unit(base, reading.unit)
        digits = reading.decimals
        return Amount(exact if digits is None else half_up(exact, digits), reading.unit, digits)
    if needs_base and base:
        return written
    return limit_as_read(written, reading)


def _compare(reading: Fraction, bound: Fraction, side: str) -> Found:
    if reading == bound:
        return "at_limit"
    if side == "max":
        return "over" if reading > bound else "within"
    return "under" if reading < bound else "within"
