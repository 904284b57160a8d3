"""What a rule file may hold: pydantic models; a key unknown, a language missing or a date left out is a fault.

Nothing is looked up or judged here.
"""

from __future__ import annotations

import hashlib
import json
import re
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from sitebot.rulebook.amounts import Amount, amount_of

Kind = Literal["practice", "safety", "limit"]
Gives = Literal["yes", "no", "value"]
Found = Literal["within", "at_limit", "over", "under", "unknown"]
#: A rule without a published source says so.
COMMON_PRACTICE = "common practice"


def _amount(value: Any) -> Any:
    return amount_of(value) if isinstance(value, str) else value


def _bound(value: Any) -> Any:
    return value if value == "none" else _amount(value)


def _sources(value: Any) -> Any:
    if value == COMMON_PRACTICE:
        return ()
    if not isinstance(value, list | tuple) or not value:
        raise ValueError(f"name at least one source, or write: sources: {COMMON_PRACTICE}")
    return value


AmountText = Annotated[Amount, BeforeValidator(_amount)]
BoundText = Annotated[Amount | Literal["none"], BeforeValidator(_bound)]


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


class Texts(Strict):
    """A text in every language of the assistant."""

    en: str = Field(min_length=1)
    es: str = Field(min_length=1)


class Words(Strict):
    """Phrases by language (see phrases.py)."""

    en: tuple[str, ...] = Field(min_length=1)
    es: tuple[str, ...] = Field(min_length=1)

    @property
    def all(self) -> tuple[str, ...]:
        """Both languages together: crews mix them in one sentence."""
        return self.en + self.es


class Limit(Strict):
    """A bound, inclusive. Several limits of a rule hold together, so the stricter governs."""

    #: What is measured: bond_gap_depth, temperature ...
    of: str
    min: AmountText | None = None
    #: ``none`` where not even a trace is allowed.
    max: BoundText | None = None
    #: The bound of metric papers, where the source rounds it differently.
    metric: AmountText | None = None
    #: What the source gives as the same in another unit: 1/8 in (3 mm).
    equals: AmountText | None = None
    #: A percentage is taken of this other measure.
    share_of: str | None = None
    #: The length over which it is allowed: 1/2 in in 10 ft.
    per: AmountText | None = None
    metric_per: AmountText | None = None
    #: A share beyond this is no likely reading (numbers swapped?) and is asked about.
    doubt: AmountText | None = None
    #: How a number without a unit is taken: "F 250-700" is a heat between the two.
    bare: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _bounded(self) -> Limit:
        if self.min is None and self.max is None:
            raise ValueError("needs min or max; write max: none where no trace is allowed")
        if self.share_of and "%" not in {b.unit for b in (self.min, self.max) if isinstance(b, Amount)}:
            raise ValueError("share_of goes with a bound in %")
        for text in self.bare:
            if not re.fullmatch(r"\S+ [\d./]+-[\d./]+", text):
                raise ValueError(f'{text!r}: write a unit and a span, "F 250-700"')
        return self


class When(Strict):
    """What must hold for an answer; all that is given must."""

    said: Words | None = None
    also: Words | None = None
    unless: Words | None = None
    #: How the measure of the text lies against the rule's limits.
    measure: tuple[Literal["within", "over", "under"], ...] = ()
    #: The matter asked for, where one rule serves several.
    topic: tuple[str, ...] = ()


class Choice(Strict):
    """One answer out of a rule: to a proposal it says yes or no, to a question its value."""

    when: When
    gives: Gives
    says: Texts
    #: Somebody may be hurt: first-aider, emergency number and address follow.
    first_aid: Literal["yes", "no"] = "no"


class Source(Strict):
    cite: str
    #: The day somebody last read it there.
    checked: date


class Case(Strict):
    """What the rule itself must give: for measures, or for a question asked."""

    given: dict[str, AmountText] | None = None
    asked: str | None = None
    gives: Literal["within", "at_limit", "over", "under", "unknown", "yes", "no", "value"]
    metric: Literal["yes", "no"] = "no"

    @model_validator(mode="after")
    def _one_of_both(self) -> Case:
        if (self.given is None) == (self.asked is None):
            raise ValueError("give either the measures (given) or a question (asked)")
        return self


class Rule(Strict):
    """One rule of the trade, as its file has it."""

    id: str = Field(pattern=r"^[a-z_]+\.[a-z0-9_]+$")
    kind: Kind
    #: Topics, dangers and defects of acts that this rule answers.
    topics: tuple[str, ...] = ()
    #: Name under which the site's approved procedure replaces it.
    procedure: str | None = None
    words: Words
    says: Texts
    limits: tuple[Limit, ...] = ()
    #: A defect seen and not measured: a reject, or the measure is asked for.
    unmeasured: Literal["reject", "need_more"] = "need_more"
    #: Words that make an unmeasured defect a reject after all.
    gross: Words | None = None
    first_aid: Literal["yes", "no"] = "no"
    answers: tuple[Choice, ...] = ()
    caution: Texts
    #: None for common practice.
    sources: Annotated[tuple[Source, ...], BeforeValidator(_sources)]
    cases: tuple[Case, ...] = ()

    @model_validator(mode="after")
    def _limited(self) -> Rule:
        if self.kind == "limit" and not self.limits:
            raise ValueError("a rule of kind limit needs limits")
        return self

    @property
    def is_common_practice(self) -> bool:
        return not self.sources

    @property
    def cites(self) -> tuple[str, ...]:
        return tuple(s.cite for s in self.sources)

    @property
    def hash(self) -> str:
        """Twelve digits of its content, kept with what it decided: a later change does not change an old verdict."""
        content = self.model_dump(mode="json", exclude={"cases"})
        return hashlib.sha256(json.dumps(content, sort_keys=True, default=str).encode()).hexdigest()[:12]


class Document(Strict):
    """An entry of sources.yaml: a document that rules cite by its name."""

    name: str
    title: str
    url: str
    checked: date
    note: str = ""
