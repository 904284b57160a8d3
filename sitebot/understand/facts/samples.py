# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Sample welds: passed or failed, on which iron, by whom."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.around import between
from sitebot.understand.facts.defects import first_defect
from sitebot.understand.facts.watched import witnesses
from sitebot.understand.marks import Text
from sitebot.understand.people import welders

_PASS = re.compile(
    r" (aprob\w*|aguanto|resistio|perfect[ao]|impecable|excelente|maciz[ao]|solid[ao]|limpi[ao]|nitid[ao]|uniforme|homogene[ao]|sana|positiva|satisfactoria|de lujo|al cien|dio (bien|buena|el ancho)|no se abrio|no abrio|acceptable|held|(?:can not|could not|hard to) (?:see|tell|find|spot) (?:where )?(?:the |it )?(?:weld|seam|joint|line|is|splice)|tore in the parent|stayed together|did not (?:open|break|crack|split|pop|let go|peel|come apart)|pass\w*|good|clean|fine|ok|okay|go|sound|acceptable|accept\w*|satisf\w*|like the parent|same colou?r|match|will do|beaut|solid|straight fire|spotless|0 voids|looks like|looked fine|ok|no problems?|no dramas|bien|buena|bueno|conforme|correcta|acept\w*|aprob\w*|pareja|parejita|parejo|paso|pasa|mismo color|igual|good|uniform) "
)
_FAIL = re.compile(
    r" (fallo|fallida|fallado|no dio|no aguanto|no resistio|no sirvio|no sirve|rechazad[ao]|reprob\w*|fea|chafa|defectuosa|negativa|se partio|se rompio|se quebro|se rajo|se abrio|se despego|trono|revento|se solto|no pego|no fundio|fail\w*|bad|no good|no go|ng|junk|dud|not good|not pass|mala|malo|mal|fallida|fallo|no paso|no pasa|no vale|basura|cruda|no llega|broke|split|cracked|crumbled|peeled|let go|opened|burnt|burned|charred|came apart|ripped|popped|came out brown|black|ugly|off|was not) "
)


def report_sample(text: Text, context: Context) -> list[Act]:
    """The sample weld passed or failed."""
    if by_iron := _by_iron(text):
        return by_iron
    row = text.row()[0]
    facts = _judged(_sample_verdict(row), row) | _circumstances(text, context, row) | _pulled(text, row)
    first = _first_of_two(row)
    if not first:
        return [Act("report_sample", facts)]
    facts.pop("defect", None)
    other = "fail" if first == "pass" else "pass"
    return [Act("report_sample", facts | _judged(first, row)), Act("report_sample", {"verdict": other})]


def _judged(verdict: str, said: str) -> dict[str, Any]:
    """The verdict, and what was wrong where something was."""
    defect = first_defect(said) if verdict == "fail" else ""
    return {"verdict": verdict} | ({"defect": defect} if defect else {})


def _circumstances(text: Text, context: Context, row: str) -> dict[str, Any]:
    """Iron, heat, time and people."""
    facts: dict[str, Any] = {}
    numbers = text.of("n")
    if irons := text.of("iron"):
        facts["iron"] = irons[0].value
    elif numbers and re.search(r" (la|con la|iron|on|off|from) <n> ", row) and _is_iron(numbers[0].value):
        facts["iron"] = str(numbers[0].value)
    for kind, key in (("temp", "temp_f"), ("time", "at")):
        if marks := text.of(kind):
            facts[key] = marks[0].value
    names = welders(text, context.gazetteer, context.role == "crew")
    if seen := witnesses(text, names, context):
        facts["witness"] = seen
    if made := [n for n in names if n not in seen]:
        facts["welders"] = made
    return facts


def _is_iron(number: object) -> bool:
    """No site has more irons than fingers."""
    return isinstance(number, int) and number < 9


def _pulled(text: Text, row: str) -> dict[str, Any]:
    """Pulled apart: its share of the parent's strength is the verdict."""
    share = text.of("pct")
    if not share or not re.search(r" (parent|sheet|base|material|pulled|tension|broke) ", row):
        return {}
    passed = share[0].value >= 80
    told = {"value": share[0].value, "unit": "%", "verdict": "pass" if passed else "fail"}
    return told if passed else told | {"defect": "tensile"}


def _first_of_two(row: str) -> str:
    """Of two samples that came out differently the verdict of the first; empty where it is one."""
    parts = re.split(r" (?:,|\.|;|y|and|but|til|antes) ", row)
    told = [_sample_verdict(f" {p.strip()} ") for p in parts]
    of_a_sample = r" (first|1st|second|2nd|primera|segunda|sample|la <n>|till?) "
    both = {v for p, v in zip(parts, told, strict=True) if v and re.search(of_a_sample, f" {p} ")}
    return next(v for v in told if v) if len(both) == 2 else ""


def _by_iron(text: Text) -> list[Act]:
    """ "plancha 1 conforme, plancha 2 no conforme por poros": samples of two irons that came out differently."""
    irons = [m for m in text.of("iron", "n") if m.kind == "iron" or (text.word(m.start - 1) == "la" and m.value <= 9)]
    if len({str(m.value) for m in irons}) < 2:
        return []
    acts = []
    for at, mark in enumerate(irons):
        end = irons[at + 1].start if at + 1 < len(irons) else len(text.tokens)
        said = between(text, mark.end, end)
        verdict = "fail" if words.says("sample_not", said) or first_defect(said) else _sample_verdict(said)
        if not verdict:
            return []
        acts.append(Act("report_sample", _judged(verdict, said) | {"iron": str(mark.value)}))
    return acts if len({a.facts["verdict"] for a in acts}) == 2 else []


def _calm(row: str) -> str:
    """The row with denied faults as praise."""
    calm = re.sub(
        r" (did not fail|didnt fail|no (pores|porosity|bubbles|holes|voids|problems?|dramas|char|poros)|0 voids|nada de \w+|ni un poro|sin (poros|hoyitos|burbujas)|not porous|no quedo porosa|no trae nada de \w+|no bubbles or anything|nobody \w+ a sample) ",
        " good ",
        words.pattern("sample_held").sub("good", row),
    )
    # "sample off iron 1" says where it comes from; nobody can tell it from the parent where it is as good.
    calm = re.sub(r" off (of )?(the |la )?(<iron>|iron|plate|it|this one|number|#|<n>) ", r" of \3 ", calm)
    calm = re.sub(
        r" (can ?not|cant|can t|could not|couldnt) (even )?tell (it|them|one|the two|which)? ?(from|apart|is) ",
        " good ",
        calm,
    )
    return calm


def _sample_verdict(row: str, default: str = "") -> str:
    calm = _calm(row)
    last_fail = max((m.start() for e in (_FAIL, words.pattern("sample_bad")) for m in e.finditer(calm)), default=-1)
    badly = words.pattern("sample_bad").sub("bad", calm)
    last_pass = max(
        (
            m.start()
            for e in (_PASS, words.pattern("sample_good"))
            for m in e.finditer(
                re.sub(
                    r" (not good|no good|no go|was not good|not pass|no paso|no pasa|not acceptable) ", " bad ", badly
                )
            )
        ),
        default=-1,
    )
    if re.search(r" for me (that is )?a? ?pass|so that is a pass| pass $", calm):
        return "pass"
    defect = first_defect(calm)
    defect = "" if defect == "tensile" and last_pass >= 0 and last_fail < last_pass else defect
    if last_fail < 0 and last_pass < 0:
        return "fail" if defect else default
    if last_fail >= 0 and last_pass < 0:
        return "fail"
    if last_pass >= 0 and last_fail < 0:
        return (
            "fail"
            if defect and defect not in {"tensile"} and not re.search(r" (pass\w*|good|acept\w*) ", calm)
            else "pass"
        )
    return "fail" if defect else ("pass" if last_pass > last_fail else "fail")
