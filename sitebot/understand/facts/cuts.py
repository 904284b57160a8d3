# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""What cut is asked for: the joint, its turn or inside angle, its plane, its legs.

A bare number other than 90 that may be turn or inside angle stays ``number_deg``; the cut itself is worked out elsewhere.
"""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.joints_asked import TURN_NEAR, joint_of, plane_of
from sitebot.understand.marks import Mark, Text

_OFF = re.compile(
    r"^(degrees? |deg |grados )?(off|aff|from|of) (the )?(straight|square|line)|^(degrees? |deg |grados )?(off|of bend|kick|turn|deflection|bend|kink|de giro|jog)\b|^(deg |degree |degrees )?(flat turn|edge turn|deflection)"
)
_INSIDE = re.compile(r"(inside|included|incl|interior|inner|por dentro|por adentro|dentro|adentro|incluido|interno)")
_CUT_SAID = re.compile(
    r"\b(cut|set|set it at|corto a|mitered every end|puntas las mocho a|cut at|cut them|saw on|set my saw on|only swings to|corto|inclino el disco|8 on|lean the blade|swing the table|wrote down|makes it|serian|o a|other|la otra a|saw at|cut 45)( \w+)?$"
)
#: "how do i cut a 45": the corner wanted, not what the saw was set to.
_TO_CUT = re.compile(
    r"\b(how (do|to|would|should|can|does)|como|para|(need|want|have|got) to)\b.* (cut|corto|corta|cortar|cortamos) (a|an|un|una)$"
)
_EACH = re.compile(r"^(each|on each|cada|por lado|each side|on the saw|on each end|a side|que vuelta|ya$)")
_SIDES = {
    "hexagon": 6,
    "hexagonal": 6,
    "octagon": 8,
    "octagonal": 8,
    "octagono": 8,
    "hexagono": 6,
    "pentagon": 5,
    "pentagono": 5,
    "ochavo": 8,
}


def _before(text: Text, at: int, size: int = 5) -> str:
    return " ".join(text.word(i) for i in range(max(0, at - size), at))


def _after(text: Text, at: int, size: int = 5) -> str:
    return " ".join(text.word(i) for i in range(at, min(len(text.tokens), at + size)))


def _angles(text: Text) -> list[Mark]:
    """Numbers that may be angles."""
    found = []
    for mark in text.of("n", "ang", "temp"):
        value = mark.value
        if not isinstance(value, (int, float)) or not 1 <= value <= 360:
            continue
        before, after = _before(text, mark.start, 2), _after(text, mark.end, 2)
        if (
            re.search(r"(splice|#|saw|detail|line|wall|joint|no|number|sta|iron|junta|muro|losa)$", before)
            and mark.kind == "n"
            and not re.search(r"(saw|wall|no|muro|losa|slab)$", before)
        ):
            continue
        if re.match(
            r"(sided|lados|legs|end|ends|pieces|way|patas|ramas|puntas|equal|esquinas|in apart|walls|men|runs?|run pieces|bandas|in |inch|pulg|equal sides|days|seconds)",
            after,
        ) or re.search(r"(saw) $", before):
            continue
        if isinstance(value, int) and value <= 4 and mark.kind == "n":
            continue
        found.append(mark)
    return found


def ask_cut(text: Text, context: Context) -> list[Act]:
    """What is asked of the saw."""
    row = text.row()[0]
    joint = joint_of(text, f" {' '.join(t.word for t in text.tokens)} ")
    facts: dict[str, Any] = {"joint": joint, "plane": plane_of(row, text)}
    marks = _angles(text)
    if joint in {"tee", "cross", "wye"}:
        facts["legs_deg"] = _legs(joint, text, row, marks)
    elif joint == "straight":
        facts |= {"turn_deg": 0}
    elif facts["plane"] == "compound":
        _compound(facts, text, row, marks)
    else:
        _turn(facts, text, row, marks)
    if facts.get("legs_deg") is None:
        facts.pop("legs_deg", None)
    return [Act("ask_cut", facts)]


def _legs(joint: str, text: Text, row: str, marks: list[Mark]) -> list[float] | None:
    values = [m.value for m in marks if not _CUT_SAID.search(_before(text, m.start, 4))]
    if joint == "wye":
        big = [v for v in values if v >= 30]
        if len(big) >= 3 and abs(sum(big[:3]) - 360) < 0.6:
            return big[:3]
        if (
            len(big) == 1
            and re.search(
                r" (all|each|todas|tres|three|parejas?|even|iguales|cada|a <n>|at <n>|<n> (legs|ramales|patas|ramas|brazos|arms)) ",
                row,
            )
            and big[0] == 120
        ):
            return [120, 120, 120]
        if len(big) == 1 and re.search(r" (other two|las otras dos|otras dos|splay) ", row):
            return [big[0], big[0], 360 - 2 * big[0]]
        if len(big) == 1 and re.search(r" (entre si|between them|from each other|apart) ", row):
            rest = (360 - big[0]) / 2
            return [big[0], rest, rest]
        return [120, 120, 120] if not big or re.search(r" (even|equal|iguales|parejas?|same) ", row) else None
    skew = [v for v in values if 10 <= v < 180 and v != 90]
    if joint == "tee":
        if not skew or (re.search(r" (square tee|dead square|a escuadra) ", row) and not words.says("not_square", row)):
            return [90, 90, 180]
        return [skew[0], 180 - skew[0], 180]
    if not skew:
        return [90, 90, 90, 90]
    if len(skew) == 1 and skew[0] == 45 and not re.search(r" (skew|cross at|a escuadra|cruzan a) ", row):
        return [90, 90, 90, 90]
    return [skew[0], 180 - skew[0], skew[0], 180 - skew[0]]


def _compound(facts: dict[str, Any], text: Text, row: str, marks: list[Mark]) -> None:
    if len(marks) < 2:
        return
    first, second = marks[0], marks[1]
    up = re.compile(r"(climb\w*|up|edge|canto|sube|levanta|out of plane|rises?|drops?|baja|slope)")
    near_first = _before(text, first.start, 2) + " " + _after(text, first.end, 2)
    swapped = bool(up.search(near_first)) and not up.search(
        _before(text, second.start, 2) + " " + _after(text, second.end, 3)
    )
    flat, edge = (second, first) if swapped else (first, second)
    facts |= {"flat_turn_deg": flat.value, "edge_turn_deg": edge.value}


def _polygon(text: Text, row: str) -> float | None:
    for word, sides in _SIDES.items():
        if f" {word} " in row:
            return 360 / sides
    for mark in text.of("n"):
        if (
            re.match(r"(sided|lados|equal sides|sides)", _after(text, mark.end, 2))
            and isinstance(mark.value, int)
            and 3 <= mark.value <= 24
        ):
            return 360 / mark.value
    return None


def _turn(facts: dict[str, Any], text: Text, row: str, marks: list[Mark]) -> None:
    polygon = _polygon(text, row)
    if polygon:
        facts |= {"turn_deg": polygon, "inside_deg": 180 - polygon}
        return
    if any(t.word in {"slope", "talud", "pendiente"} for t in text.tokens) and (
        re.search(r"\b1 ?[:a] ?1\b", " ".join(t.raw for t in text.tokens))
        or re.search(r"1:1", " ".join(t.raw for t in text.tokens))
    ):
        facts |= {"turn_deg": 45, "inside_deg": 135}
        return
    said = _said(text, row, marks)
    if said:
        facts |= said
    elif (
        re.search(
            r" (a escuadra|square corner|straight up|esquina normal|hace l|right angle|up the wall|normal corner|regular corner|angulo recto) ",
            row,
        )
        and not marks
    ):
        facts |= {"turn_deg": 90, "inside_deg": 90}


def _said(text: Text, row: str, marks: list[Mark]) -> dict[str, Any]:
    scored: list[tuple[int, str, float]] = []
    for mark in marks:
        value = float(mark.value)
        before, after = _before(text, mark.start, 4), _after(text, mark.end, 4)
        wanted = _TO_CUT.search(_before(text, mark.start, 7))
        if (_CUT_SAID.search(before) and not wanted and not _OFF.match(after)) or _EACH.match(after):
            got = re.search(r" (what turn|que vuelta|what angle) (will|me|does|do) ", row)
            scored.append((9 if not got else 1, "cut", value))
        elif _OFF.match(after) or (
            re.search(
                r"(turn of|kick of|bend of|deflection|deflexion de|giro de|giro plano de|vuelta de|only turns|turns|kicks|gira|quiebra|climbs|bends|turn|bend|kick|deflects|deflection of|deflecting|edge turn of|vertical turn de|quiebre de|da vuelta|quiebro de|goes up|sube|baja|turns like|like|vuelta|giro|to zero)( \w+){0,2}$",
                before,
            )
            and not _INSIDE.search(before[-14:])
        ):
            scored.append((0, "turn", value))
        elif _INSIDE.search(before) or _INSIDE.search(_after(text, mark.end, 3)):
            scored.append((0, "inside", value))
        else:
            scored.append((2, "bare", value))
    kinds = {k for _, k, _ in scored}
    if not scored:
        return {}
    pool = sorted(scored, key=lambda s: s[0])
    best = pool[0]
    if best[1] == "cut":
        cuts = [v for _, k, v in scored if k == "cut"]
        if best[0] == 1:
            return _turned(2 * cuts[0])
        if re.search(r" (right|wrong|wont close|no me cierra) ", row) and len(cuts) == 1 and TURN_NEAR.search(row):
            return _turned(cuts[0])
        return {}
    if best[1] == "turn":
        slight = re.search(r" (barely|hardly|slight\w*|apenas|casi recto|a hair) ", row)
        return {"inside_deg": best[2], "turn_deg": 180 - best[2]} if slight and best[2] >= 150 else _turned(best[2])
    if best[1] == "inside":
        return {"inside_deg": best[2], "turn_deg": 180 - best[2]}
    return _bare(best[2], [v for _, k, v in scored if k == "bare"], row, kinds)


def _turned(value: float) -> dict[str, Any]:
    value = int(value) if value.is_integer() else value
    return {"turn_deg": value, "inside_deg": 180 - value}


def _bare(value: float, values: list[float], row: str, kinds: set[str]) -> dict[str, Any]:
    if 90.0 in values:
        return _turned(90.0)
    if (
        re.search(r" (straight is (0|zero|<n>)|<n> = straight) ", row)
        and re.search(r"(0 = straight|straight is (0|zero))", row.replace("<n>", "0"))
        and value < 180
    ):
        return _turned(value)
    if value == 180:
        return {"turn_deg": 0, "inside_deg": 180, "joint": "straight"}
    inside, turn = (
        bool(_INSIDE.search(row)),
        bool(TURN_NEAR.search(row))
        or bool(re.search(r" (off straight|off the straight|from straight|ramp|rampa) ", row)),
    )
    if re.search(r" (no idea|ni idea|do not know|not sure|no se si|which one|inside or|inside o) ", row):
        return {"number_deg": value}
    if inside and not turn:
        return {"inside_deg": value, "turn_deg": 180 - value}
    if turn and not inside:
        return _turned(value)
    if re.search(r" (acute|obtuse|obtusa|aguda) ", row):
        return {"inside_deg": value, "turn_deg": 180 - value}
    return {"number_deg": value}
