# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Rework, samples, irons, damage: what the crew reports beside splices."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts.defects import DEFECTS, first_defect
from sitebot.understand.facts.inspections import splice_rows
from sitebot.understand.marks import Mark, Text
from sitebot.understand.people import welders

_NOT_DONE = re.compile(
    r" (not yet|have not|has not|havent|hasnt|hasnae|still|not touched|nobody has touched|not redone|new one goes|will redo|will cut|tomorrow|the morra|first thing|waiting on|ran outta time|hold your breath|not put back|cutting it back|after lunch|to go|needs|need to|todavia|aun|falta|sigue|manana|hay que repetirlo|a medio|no hemos|que se rehaga|rehacemos|rehagan|pendiente|lo corto|lo rehacemos|not been|going to|open|hasn t) "
)
_DONE = re.compile(
    r" (done|redid|rewelded|redone|fixed|replaced|complete|completed|finished|is in|made it new|went in good|made again|ready|ya|rehice|rehicimos|rehizo|repetimos|quedo|terminado|repuesto|vueltos|rehechas|removed|stuck back) "
)
_PASS = re.compile(
    r" (aprob\w*|aguanto|resistio|perfect[ao]|impecable|excelente|maciz[ao]|solid[ao]|limpi[ao]|nitid[ao]|uniforme|homogene[ao]|sana|positiva|satisfactoria|de lujo|al cien|dio (bien|buena|el ancho)|no se abrio|no abrio|acceptable|held|pass\w*|good|clean|fine|ok|okay|go|sound|acceptable|accept\w*|satisf\w*|like the parent|same colou?r|match|will do|beaut|solid|straight fire|spotless|0 voids|looks like|looked fine|ok|no problems?|no dramas|bien|buena|bueno|conforme|correcta|acept\w*|aprob\w*|pareja|parejita|parejo|paso|mismo color|igual|good|uniform) "
)
_FAIL = re.compile(
    r" (fallo|fallida|fallado|no dio|no aguanto|no resistio|no sirvio|no sirve|rechazad[ao]|reprob\w*|fea|chafa|defectuosa|negativa|se partio|se rompio|se quebro|se rajo|se abrio|se despego|trono|revento|se solto|no pego|no fundio|fail\w*|bad|no good|no go|ng|junk|dud|not good|not pass|mala|malo|mal|fallida|fallo|no paso|no vale|basura|cruda|no llega|broke|came apart|ripped|popped|came out brown|black|ugly|off|was not) "
)


def _numbers(text: Text) -> list[int]:
    found: list[int] = []
    for row in splice_rows(text):
        after = " ".join(text.word(i) for i in range(row.end, row.end + 2))
        if (
            re.match(
                r"(rejects|malas|malos|two|times|other|tries|pegas|hours|de los|nails|screws|clavos|holes|joints|redo|did get made|tajos|feet|bolts)",
                after,
            )
            and len(row.numbers) == 1
            and not row.signed
        ):
            continue
        if (
            text.word(row.start - 1) in {"all", "las", "los", "other", "con", "took"}
            and len(row.numbers) == 1
            and row.numbers[0] <= 9
            and not (row.signed and text.word(row.start) not in {"las", "los"})
        ):
            continue
        if text.word(row.start) in {"las", "los"} and len(row.numbers) == 1 and row.numbers[0] <= 9:
            continue
        found += [n for n in row.numbers if isinstance(n, int) and n not in found]
    return found


def report_rework(text: Text, context: Context) -> list[Act]:
    """Rejected splices cut out and made again, or not yet."""
    row = text.row()[0]
    left = re.search(r" only <n> is left ", row)
    numbers = _numbers(text)
    done = not _NOT_DONE.search(row) or (
        bool(
            re.search(
                r" (redid|rewelded|redone|ya rehic\w+|done over|ya repetimos|replaced|ya quedo|ya quedaron|vueltos a soldar|ya estan otra vez|rewelded it|lo hicimos de nuevo|volvimos a) ",
                row,
            )
        )
        and not re.search(r" (not|no|todavia|still|sigue|hasnt|have not|has not) ", row)
    )
    facts: dict[str, Any] = {"done": done}
    if left and len(numbers) > 1:
        open_one, rest = numbers[0], numbers[1:]
        return [
            Act("report_rework", {"numbers": rest, "done": True}),
            Act("report_rework", {"numbers": [open_one], "done": False}),
        ]
    if numbers:
        facts["numbers"] = numbers
    _add_common(facts, text, context)
    return [Act("report_rework", facts)]


def _add_common(facts: dict[str, Any], text: Text, context: Context) -> None:
    for kind, key in (("iron", "iron"), ("place", "place"), ("time", "at")):
        marks = text.of(kind)
        if marks:
            facts[key] = marks[0].value
    heats = text.of("temp")
    if heats:
        facts["temp_f"] = heats[-1].value
    names = welders(text, context.gazetteer, context.role == "crew")
    if names:
        facts["welders"] = names


def report_sample(text: Text, context: Context) -> list[Act]:
    """The sample weld passed or failed."""
    row = text.row()[0]
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


_EVENTS = ("cover_changed", "fault", "unplugged", "plugged_in", "hot", "reading")


def iron_event(text: Text) -> str:
    """The event of an iron that a text tells, or nothing."""
    row = text.row()[0]
    if text.has("event.cover_changed") and text.has("cover_noun"):
        return "cover_changed"
    if re.search(r" (replug\w*|plugged (it )?back|back on|juice is back|just did it) ", row):
        return "plugged_in" if "just did it" not in row else "unplugged"
    if text.has("event.fault") and not re.search(r" not hot yet ", row):
        return "fault"
    if (text.has("event.unplugged") and not re.search(r" (not|nobody) unplugged ", row)) or re.search(
        r" (irons?|<iron>|it is|she is|is|both|all|everything|<iron> and <n>|^off) off |^ off $|^ (irons?|<iron>) (are |is |r )?off|(irons?|<iron>) (are|is) (now )?off",
        row,
    ):
        return "unplugged"
    heats = text.of("temp")
    denied = re.search(
        r" (nobody|not|todavia no|aun no|no) (\w+ )?(plugged|energizes|conecto|conecte|conectamos|enchufe) ", row
    )
    if text.has("event.plugged_in") and not denied and not (heats and not re.search(r" plug\w* ", row)):
        return "plugged_in"
    if (
        text.has("event.hot")
        and not re.search(r" (not|no) (hot|caliente) ", row)
        and not re.search(r" todavia no ", row)
    ):
        return "hot"
    if heats:
        return "reading"
    return ""


def report_iron(text: Text, context: Context) -> list[Act]:
    """What happened to an iron; readings of two irons are two acts."""
    row = text.row()[0]
    event = iron_event(text) or (
        "plugged_in" if not text.of("temp") and re.search(r" (irons? (is|are) on|<iron> (in|on)|on|in) ", row) else ""
    )
    pairs = _readings(text)
    if event in {"reading", "hot"} and len(pairs) > 1:
        at = text.of("time")
        return [
            Act("report_iron", {"iron": i, "event": "reading", "temp_f": t} | ({"at": at[0].value} if at else {}))
            for i, t in pairs
        ]
    facts: dict[str, Any] = {"event": event or "reading"}
    iron = _iron(text, context)
    if iron:
        facts["iron"] = iron
    heats = text.of("temp")
    if heats:
        facts["temp_f"] = heats[0].value
    times = text.of("time")
    if times:
        facts["at"] = times[0].value
    elif event in {"plugged_in", "unplugged"}:
        bare = _bare_hour(text)
        if bare:
            facts["at"] = bare
    return [Act("report_iron", facts)]


def _iron(text: Text, context: Context) -> str:
    irons = text.of("iron")
    if irons:
        return str(irons[0].value)
    row = text.row()[0]
    if re.search(r" (irons|everything|both|las planchas|las dos|all of them|them both) ", row):
        return "all"
    match = re.search(
        r"( #| number| no| no \.| numero| la| el| las?| on| plugged| put| at| en la| de la) (<n>)( |$)", row
    )
    if match:
        number = next((m for m in text.of("n") if isinstance(m.value, int) and m.value <= 12), None)
        if number is not None:
            return str(number.value)
    return ""


def _readings(text: Text) -> list[tuple[str, int]]:
    """Irons with the heat said after each."""
    heats = text.of("temp")
    if len(heats) < 2:
        return []
    pairs = []
    low = 0
    for heat in heats:
        near: list[Mark] = [m for m in text.of("iron", "n") if low <= m.start < heat.start]
        if not near:
            return []
        pairs.append((str(near[-1].value), heat.value))
        low = heat.end
    return pairs


def _bare_hour(text: Text) -> str:
    match = re.search(r" (at|since|a las|@) <n> ", text.row()[0])
    numbers = text.of("n")
    if not match or not numbers:
        return ""
    hour = numbers[-1].value
    if not isinstance(hour, int) or not 1 <= hour <= 12:
        return ""
    late = (text.has("event.unplugged") and hour < 7) or hour <= 4
    return f"{hour + 12 if late and hour < 12 else hour:02d}:00"


def report_damage(text: Text, context: Context) -> list[Act]:
    """Damage to a splice or a stretch after it was made."""
    facts: dict[str, Any] = {"what": _what(text)}
    numbers = _numbers(text)
    numbers = [n for n in numbers if n > 1]
    if numbers:
        facts["numbers"] = numbers
    places = text.of("place")
    if places:
        facts["place"] = places[0].value
    return [Act("report_damage", facts)]


def _what(text: Text) -> str:
    hits = list(text.find("damage"))
    return text.raw(*hits[0]) if hits else text.raw(0, len(text.tokens))[:60]


KNOWN_DEFECTS = DEFECTS
