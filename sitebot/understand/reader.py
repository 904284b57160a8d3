# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""From a text and its context to a reading: marks, choice of act, facts, and what stays unclear."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from sitebot.acts import REPORTS, Act, Reading, Unclear
from sitebot.understand.choose import Choice, choose
from sitebot.understand.clauses import part, without
from sitebot.understand.context import Context, Gazetteer
from sitebot.understand.doubt import missing, muddled, unsure
from sitebot.understand.facts.fill import fill
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.measured import measured
from sitebot.understand.findings import found_only
from sitebot.understand.followup import follow
from sitebot.understand.hurt import first, hurt
from sitebot.understand.marks import Text
from sitebot.understand.matters import further
from sitebot.understand.matters import own as is_own
from sitebot.understand.model import Linear, packed
from sitebot.understand.noise import is_gibberish, is_noise, is_one_slip, is_wordless
from sitebot.understand.orders import coming_back, ordered
from sitebot.understand.reading_marks import read_marks
from sitebot.understand.repair import Speller
from sitebot.understand.spelling import fold
from sitebot.understand.weather import weather


def read(text: str, context: Context) -> Reading:
    """What a text means in its context; noise means nothing."""
    if is_noise(text):
        return Reading(acts=(Act("off_topic"),), mood="noise")
    return read_with(packed(), text, context)


def read_with(model: Linear, text: str, context: Context) -> Reading:
    """As ``read``, with a model handed in: the measurement trains its own."""
    reading = _weighed(model, text, context)
    injury = hurt(text, context)
    return first(injury, reading) if injury else reading


def _weighed(model: Linear, text: str, context: Context) -> Reading:
    if order := ordered(text) or weather(text) or found_only(text):
        return Reading((order,), trace=(("order", order.name),))
    marks = read_marks(text, context.gazetteer, _knowing(context.gazetteer, speller(model)))
    if is_gibberish(marks):
        return Reading(unclear=Unclear("unclear"), mood="noise")
    choice, alone = _acts(model, marks, context)
    acts, decided = follow(marks, context, alone)
    unclear = missing(acts, marks, context)
    if unclear is None and not decided and not context.last:
        rival, margin = choice.rival({a.name for a in acts})
        unclear = unsure(acts, margin, fill(rival, marks, context), marks, context)
    if unclear is None and not decided:
        unclear = muddled(acts, marks, context)
    if unclear is None and not decided and not context.last and _is_faint(acts[0], choice, marks):
        unclear = Unclear("reading.which", (tuple(acts),), dict(acts[0].facts))
    if unclear is None and not decided and choice.ranked[0][1] < SAID_LEAST and not marks.has("verdict.reject"):
        unclear = Unclear("unclear")
    said = {a.name for a in acts}
    if context.role == "stranger" and said == {"off_topic"} and choice.margin < NOT_FOR_US:
        unclear = Unclear("unclear")  # a wrong number is left alone; who may have meant us is told that he is not known
    slipped = bool(said & _NEED_A_WORD) and is_one_slip(marks)
    if unclear is None and not context.last and (slipped or (is_wordless(marks) and said & _NEED_WORDS)):
        unclear = Unclear("unclear")
    trace = (("act", f"{choice.act} ahead by {choice.margin:.2f} of {choice.ranked[1][0]}"),)
    told = () if unclear else tuple(coming_back(a, text) for a in measured(acts, marks))
    return Reading(acts=told, unclear=unclear, trace=trace, margin=choice.margin)


#: An act below this score has nothing that speaks for it: of new hands' lines there none was right.
SAID_LEAST = -0.65
#: A report below this is asked about: of new hands' recorded there seven in seven did harm, of the others three in nineteen.
KEPT_LEAST = 0.0
#: A stranger's text this little off our matters is answered.
NOT_FOR_US = 0.3
#: What no bare row of numbers records; a heat alone may.
_NEED_A_WORD = {"plan_day", "plan_pour", "set_crew", "language", "opt_out"}
_NEED_WORDS = (REPORTS - {"report_iron"}) | _NEED_A_WORD


def _is_faint(act: Act, choice: Choice, marks: Text) -> bool:
    """A report that hardly anything speaks for; a kind named makes it one of splices."""
    named = act.name == "report_splices" and bool(named_kinds(marks))
    return act.name in REPORTS and choice.ranked[0][1] < KEPT_LEAST and not named


@cache
def _spellers() -> dict[int, tuple[tuple[str, ...], Speller]]:
    return {}


def speller(model: Linear) -> Speller:
    """The speller that goes with a model, made once; its words are kept, so that no other model's have their address."""
    found = _spellers()
    if id(model.words) not in found:
        found[id(model.words)] = model.words, Speller(model.words)
    return found[id(model.words)][1]


def _knowing(gazetteer: Gazetteer, repair: Callable[[str], str]) -> Callable[[str], str]:
    """The speller leaves the site's own names alone."""
    names = (*gazetteer.people, *gazetteer.places, *gazetteer.nicknames)
    own = {word for name in names for word in fold(name).split()}
    return lambda word: word if word in own else repair(word)


#: Chief acts beside which a clause may carry a matter of its own.
_WITH_MORE = {
    "report_splices", "report_inspection", "report_rework", "report_sample", "report_iron", "report_damage", "amend", "plan_day", "set_crew", "plan_pour", "ask_cut",
}  # fmt: skip


def _acts(model: Linear, marks: Text, context: Context) -> tuple[Choice, list[Act]]:
    """The chief act with its facts, and the matters of clauses beside it."""
    choice = choose(marks, context, model)
    beside = further(marks, context)
    if beside:
        rest = without(marks, [(s, e) for _, s, e in beside])
        own = choose(rest, context, model) if len(rest.tokens) > 1 else None
        if (
            own
            and own.act in _WITH_MORE
            and own.act not in {name for name, _, _ in beside}
            and is_own(own.act, rest, context)
        ):
            acts = fill(own.act, rest, context)
            for name, start, end in beside:
                acts += fill(name, part(marks, start, end), context)
            return own, acts
    return choice, fill(choice.act, marks, context) or [Act(choice.act)]
