# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Whether a splice may stay: the defect asked about, its measure and the thickness. The verdict is the rulebook's.

``present`` is False when the text says that a defect is not there, True when it is there without a measure.
"""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.defects import all_denied, found_defects
from sitebot.understand.marks import Mark, Text

_RULE = re.compile(
    r" (rule|what is the limit|limit on|limits?|regla|criterio|a partir de cuanto|hasta cuanto|how much can|how strong|what strength|strength (does|do|must|should)|most unbonded|get away with|what gets|que se rechaza|whats the most|how deep may|how deep can|written rule|ever let go|tolerancia para|how far off can|maximo|cual es) "
)
_THICK_AFTER = re.compile(
    r"^(de grosor|de pared|de alma|thick|thk|web|stock|material|sheet|strip|wall|profile|stuff|section|de grueso|de espesor|gruesa|plate|one|thickness|de ancho|wide|millimetre section|grueso|mil sheet|flange|pvc|the one|en placa|web)"
)
_THICK_BEFORE = re.compile(
    r"(web|thick|thickness|stock|material|sheet|strip|is|of|espesor|grueso|grosor|la banda es de|es de|tiene|mide|lamina|pared|ala|cuerpo|hoja de|material de|placa de|banda de|banda|lamina de|cinta de|perfil de|alma son|on|in the small|the small|thick one|the same|in|en banda de|grueso total|profile|es de|de|on a|only|still|web is|web only|total)( \w+)?$"
)
#: "how much gap is ok on 3/8": the one measure is the material's, the limit is what is asked.
_LIMIT_AT = re.compile(
    r" (?:how (?:much|deep|big|far|wide)|cuanto|cuanta|que tan\w*|what is the most|max\w*)\b[^?]* "
    r"(?:on|in|for|at|en|de|is|es) (?:\w+ ){0,3}<len>(?! (?:deep|off|of gap|gap|de hondo)\b)"
)
#: Said to be in line, a bulb or rib is no defect.
_TRUE = {
    "bulb_misaligned": re.compile(
        r" (bulbs?|bulbo) (\w+ ){0,3}(true|dead on|fine|lined up|line up|perfect|bien|en linea|centered|good|spot on|van en linea)"
    ),
    "ribs_misaligned": re.compile(
        r" (ribs?|costillas|nervios) (\w+ ){0,5}(true|dead on|fine|lined up|line up|perfect|bien|en linea|meet fine|good|spot on|van en linea)"
    ),
}
_HARD = {"porosity", "bubbles", "char", "overlap", "separation"}


def _near(text: Text, mark: Mark) -> tuple[str, str]:
    before = " ".join(text.word(i) for i in range(max(0, mark.start - 3), mark.start))
    after = " ".join(text.word(i) for i in range(mark.end, min(len(text.tokens), mark.end + 3)))
    return before, after


def _defect(text: Text, row: str) -> str:
    found = [key for _, key in found_defects(row) if not _TRUE.get(key) or not _TRUE[key].search(row)]
    pulls = text.of("pull")
    if pulls and "overlap" not in found:
        return "tensile"
    if re.search(
        r" (glue\w*|solvent|stapled?|torch|epoxico|pegamento|epoxy|flamed|pegaron con|tornillos|screws) ", row
    ):
        return "other"
    for key in ("overlap", "separation"):
        if key in found and not (key == "separation" and "tensile" in found and text.of("pct")):
            if key == "separation" and "unbonded" in found and text.of("len"):
                continue
            return key
    if (
        "tensile" in found
        and (
            text.of("pct")
            or re.search(r" (coupon|tensile|pulled|jalon|resistencia|traccion|tension|strong|laboratorio) ", row)
        )
        and "misaligned" not in found
    ):
        return "tensile"
    if "tensile" in found and not (set(found) - {"tensile"}):
        return "tensile"
    if "thin_bead" in found and set(found) & {"porosity", "bubbles", "char", "unbonded", "misaligned"}:
        found.remove("thin_bead")
    if "unbonded" in found and "misaligned" in found and not text.of("pct"):
        return "unbonded" if re.search(r" (unbonded|gap|bond|pegar|despegado|fusion) ", row) else "misaligned"
    for key in (
        "bulb_misaligned",
        "ribs_misaligned",
        "char",
        "bubbles",
        "porosity",
        "thin_bead",
        "unbonded",
        "misaligned",
        "runout",
    ):
        if key in found:
            return key
    if text.of("pct"):
        return "tensile" if 60 <= float(text.of("pct")[0].value) <= 100 else "misaligned"
    if len(text.of("len")) >= 2 or re.search(r" (deep|de hondo|depth|stick|stuck) ", row):
        return "unbonded"
    return ""


def ask_acceptance(text: Text, context: Context) -> list[Act]:
    """Defect, value and thickness of a question whether a splice may stay."""
    row = text.row()[0]
    facts: dict[str, Any] = {}
    defect = _defect(text, row)
    if defect:
        facts["defect"] = defect
    lengths = text.of("len")
    if defect and len(lengths) == 1 and not text.of("pct", "pull") and _LIMIT_AT.search(row):
        at = {"thickness": lengths[0].value, "thickness_unit": lengths[0].unit}
        return [Act("ask_acceptance", {**facts, "verdict": "rule", **at})]
    if (_RULE.search(row) or words.says("asks_rule", row)) and not text.of("len", "pct", "pull"):
        return [Act("ask_acceptance", {"defect": _ruled(defect, row), "verdict": "rule"})]
    if not defect and all_denied(row):
        return [Act("ask_acceptance", {"present": False})]
    if defect == "tensile":
        facts |= _tensile(text)
        return [Act("ask_acceptance", facts)]
    _measure(facts, text, defect)
    if (defect in _HARD and "value" not in facts) or defect == "other":
        facts["present"] = True
    if defect in {"bulb_misaligned", "ribs_misaligned", "thin_bead"} and "value" not in facts:
        facts["present"] = True
    return [Act("ask_acceptance", facts)]


#: Asked for the rule, the thing alone names it; a bulb off line is no other mismatch.
_THINGS = ("bulb_misaligned", "ribs_misaligned", "runout", "thin_bead", "tensile", "misaligned")


def _ruled(defect: str, row: str) -> str:
    if defect and defect not in {"misaligned", "other"}:
        return defect
    return next((d for d in _THINGS if words.says(f"about_{d}", row)), defect or "other")


def _tensile(text: Text) -> dict[str, Any]:
    share = text.of("pct")
    if share:
        return {"value": share[0].value, "unit": "%"}
    row = text.row()[0]
    values = [
        (m, float(m.value))
        for m in text.of("pull", "n", "temp")
        if isinstance(m.value, (int, float)) and (m.kind == "pull" or float(m.value) > 5)
    ]
    if len(values) >= 2:
        parent = next(
            (
                v
                for m, v in values
                if re.search(r"(parent|banda|sheet|base|cinta|strip|material)( \w+){0,3}$", _near(text, m)[0])
            ),
            None,
        )
        parent = parent or next(
            (
                v
                for m, v in values
                if re.match(
                    r"(parent|for the sheet|la banda|base|on <n> parent|en la cinta|de la banda|psi parent|for parent|la cinta)",
                    _near(text, m)[1],
                )
            ),
            None,
        )
        numbers = [v for _, v in values][:2]
        low, high = min(numbers), max(numbers)
        if parent is not None and parent in numbers:
            weld = numbers[1] if numbers[0] == parent else numbers[0]
            return {"value": round(100 * weld / parent, 1), "unit": "%"}
        return {"value": round(100 * low / high, 1), "unit": "%"}
    if values:
        mark, value = values[0]
        if mark.kind == "pull":
            return {"value": value, "unit": mark.unit}
        if re.search(r" (tensile|came back|on the nose|percent|parent|tension) ", row) and 40 <= value <= 110:
            return {"value": value, "unit": "%"}
        return {"value": value}
    return {}


def _measure(facts: dict[str, Any], text: Text, defect: str) -> None:
    lengths = [
        m
        for m in text.of("len")
        if not re.search(r"(bead a good|nowhere under)$", _near(text, m)[0]) or defect in {"", "thin_bead"}
    ]
    shares = text.of("pct") if len(lengths) < 2 else []
    if (
        len(lengths) >= 3
        and lengths[0].value == lengths[1].value
        and re.search(r" (sorry|perdon|i mean|digo) ", text.row()[0])
    ):
        lengths = lengths[1:]
    if defect == "runout" and len(lengths) > 1:
        facts |= {"run_length": lengths[-1].value, "run_length_unit": lengths[-1].unit}
        lengths = lengths[:1]
    thick = _thickness(text, lengths, defect)
    if thick is not None:
        lengths = [m for m in lengths if m is not thick]
    if (shares and defect in {"misaligned", "unbonded", ""}) or shares:
        facts |= {"value": shares[0].value, "unit": "%"}
    elif lengths:
        facts |= {"value": round(float(lengths[0].value), 6), "unit": lengths[0].unit}
    else:
        _bare_measure(facts, text, defect)
    if thick is None and "unit" in facts:
        _bare_thickness(facts, text)
    elif thick is not None:
        facts["thickness"] = thick.value
        if thick.unit != facts.get("unit"):
            facts["thickness_unit"] = thick.unit


def _thickness(text: Text, lengths: list[Mark], defect: str) -> Mark | None:
    for mark in lengths:
        _before, after = _near(text, mark)
        if _THICK_AFTER.match(after) and not re.match(r"(deep|de hondo|off)", after):
            return mark
    if len(lengths) < 2:
        return None
    for mark in lengths[1:]:
        if _THICK_BEFORE.search(_near(text, mark)[0]):
            return mark
    if _THICK_BEFORE.search(_near(text, lengths[0])[0]) and re.search(
        r"(espesor|thick|web|strip|grueso|alma)", _near(text, lengths[0])[0]
    ):
        return lengths[0]
    return lengths[1] if defect in {"unbonded", "misaligned", ""} else None


def _numbers(text: Text) -> list[Mark]:
    return [m for m in text.of("n") if isinstance(m.value, (int, float)) and 0 < float(m.value) < 60]


def _bare_measure(facts: dict[str, Any], text: Text, defect: str) -> None:
    for mark in _numbers(text):
        _before, after = _near(text, mark)
        if float(mark.value) < 1 and isinstance(mark.value, float):
            facts |= {"value": mark.value, "unit": "in"}
            return
        if re.match(r"(of the section|off section|percent|off)", after):
            facts |= {"value": mark.value, "unit": "%"}
            return
    if re.search(r" one fifth ", text.row()[0]) or re.search(r" <n> fifth ", text.row()[0]):
        facts |= {"value": 20, "unit": "%"}


def _bare_thickness(facts: dict[str, Any], text: Text) -> None:
    """ "feeler goes in .5mm, strip is 10 thick": the unit is the value's."""
    for mark in _numbers(text):
        before, after = _near(text, mark)
        value = float(mark.value)
        if not re.search(
            r"(thick|thickness|espesor|grueso|web|strip|material|profile|banda|cinta|total|stock|alma|grosor|lamina|mide|perfil|es|is|half)( \w+){0,2}$",
            before,
        ) and not re.match(r"(thick|web|stock|de grueso|de espesor|mil|material)", after):
            continue
        if (facts["unit"] == "mm" and 3 <= value <= 30) or (facts["unit"] == "in" and value <= 1):
            facts["thickness"] = mark.value
            return
    if (re.search(r" half inch ", text.row()[0]) and facts.get("unit") == "in") or re.search(
        r" a half inch | half inch web ", text.row()[0]
    ):
        facts["thickness"] = 0.5
