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
from sitebot.understand.marks import Text
from sitebot.understand.people import welders

_PASS = re.compile(
    r" (aprob\w*|aguanto|resistio|perfect[ao]|impecable|excelente|maciz[ao]|solid[ao]|limpi[ao]|nitid[ao]|uniforme|homogene[ao]|sana|positiva|satisfactoria|de lujo|al cien|dio (bien|buena|el ancho)|no se abrio|no abrio|acceptable|held|pass\w*|good|clean|fine|ok|okay|go|sound|acceptable|accept\w*|satisf\w*|like the parent|same colou?r|match|will do|beaut|solid|straight fire|spotless|0 voids|looks like|looked fine|ok|no problems?|no dramas|bien|buena|bueno|conforme|correcta|acept\w*|aprob\w*|pareja|parejita|parejo|paso|mismo color|igual|good|uniform) "
)
_FAIL = re.compile(
    r" (fallo|fallida|fallado|no dio|no aguanto|no resistio|no sirvio|no sirve|rechazad[ao]|reprob\w*|fea|chafa|defectuosa|negativa|se partio|se rompio|se quebro|se rajo|se abrio|se despego|trono|revento|se solto|no pego|no fundio|fail\w*|bad|no good|no go|ng|junk|dud|not good|not pass|mala|malo|mal|fallida|fallo|no paso|no vale|basura|cruda|no llega|broke|came apart|ripped|popped|came out brown|black|ugly|off|was not) "
)


def report_sample(text: Text, context: Context) -> list[Act]:
    """The sample weld passed or failed."""
    row = text.row()[0]
    by_iron = _by_iron(text)
    if by_iron:
        return by_iron
    facts: dict[str, Any] = {"verdict": _sample_verdict(row)}
    parts = re.split(r" (?:,|\.|;|y|and|but|til|antes) ", row)
    both = {
        v
        for p in parts
        if re.search(r" (first|1st|second|2nd|primera|segunda|sample|la <n>|till?) ", f" {p} ")
        and (v := _sample_verdict(f" {p.strip()} ", ""))
    }
    defect = first_defect(row)
    if facts["verdict"] == "fail" and defect:
        facts["defect"] = defect
    if len(text.of("iron")) == 1 or text.of("iron"):
        facts["iron"] = text.of("iron")[0].value
    elif match := re.search(r" (la|con la|iron|on|off|from) <n> ", row):
        numbers = text.of("n")
        if numbers and match and isinstance(numbers[0].value, int) and numbers[0].value < 9:
            facts["iron"] = str(numbers[0].value)
    heats = text.of("temp")
    if heats:
        facts["temp_f"] = heats[0].value
    times = text.of("time")
    if times:
        facts["at"] = times[0].value
    names = welders(text, context.gazetteer, context.role == "crew")
    if names:
        facts["welders"] = names
    share = text.of("pct")
    if share and re.search(r" (parent|sheet|base|material|pulled|tension|broke) ", row):
        facts |= {"value": share[0].value, "unit": "%"}
        facts["verdict"] = "pass" if share[0].value >= 80 else "fail"
        if facts["verdict"] == "fail":
            facts["defect"] = "tensile"
    if len(both) == 2:
        facts["verdict"] = next(v for p in parts if (v := _sample_verdict(f" {p.strip()} ", "")))
        facts.pop("defect", None)
        if facts["verdict"] == "fail" and defect:
            facts["defect"] = defect
    acts = [Act("report_sample", facts)]
    if len(both) == 2:
        other = "fail" if facts["verdict"] == "pass" else "pass"
        acts.append(Act("report_sample", {"verdict": other}))
    return acts


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
        defect = first_defect(said) if verdict == "fail" else ""
        acts.append(
            Act("report_sample", {"verdict": verdict, "iron": str(mark.value)} | ({"defect": defect} if defect else {}))
        )
    return acts if len({a.facts["verdict"] for a in acts}) == 2 else []


def _sample_verdict(row: str, default: str = "") -> str:
    calm = re.sub(
        r" (did not fail|didnt fail|no (pores|porosity|bubbles|holes|voids|problems?|dramas|char|poros)|0 voids|nada de \w+|ni un poro|sin (poros|hoyitos|burbujas)|not porous|no quedo porosa|no trae nada de \w+|no bubbles or anything|nobody \w+ a sample) ",
        " good ",
        row,
    )
    last_fail = max((m.start() for m in _FAIL.finditer(calm)), default=-1)
    last_pass = max(
        (
            m.start()
            for m in _PASS.finditer(
                re.sub(r" (not good|no good|no go|was not good|not pass|no paso|not acceptable) ", " bad ", calm)
            )
        ),
        default=-1,
    )
    if re.search(r" for me (that is )?a? ?pass|so that is a pass| pass $", calm):
        return "pass"
    defect = first_defect(calm)
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
