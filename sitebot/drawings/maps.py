"""The map of a place: a strip with every splice made and still planned as a mark. Not to scale: nobody tells lengths.

The letter says the kind, form and colour say how it stands; the number stands below. Values in, a sheet out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sitebot.drawings.charts import say, word
from sitebot.drawings.charts_frame import BLUE, ORANGE, VERMILION, Form, heading, mark
from sitebot.drawings.scene import FAINT, INK, Label, Line, Point, Polygon, Shape, Sheet
from sitebot.message import Language, Term
from sitebot.wording.render import value_text

State = Literal["accepted", "pending", "rejected", "redone", "damaged", "planned"]
#: Form, fill and colour of the letter.
LOOKS: dict[State, tuple[Form, str, str]] = {
    "accepted": ("circle", BLUE, "#ffffff"),
    "pending": ("diamond", ORANGE, INK),
    "rejected": ("square", VERMILION, "#ffffff"),
    "redone": ("square", "#ffffff", FAINT),
    "damaged": ("triangle", "#f0e442", INK),
    "planned": ("circle", "#ffffff", FAINT),
}
WEB, BULB = "#eaf2f7", "#c5d7e2"
#: Marks in a row, height of a row, size of a mark: of a usual place, and of one with so many that they are drawn small.
USUAL, DENSE = (9, 104.0, 17.0), (15, 66.0, 11.0)
#: Marks on one sheet; more go on the next one.
MOST_USUAL, MOST_DENSE = 72, 180


@dataclass(frozen=True, slots=True)
class Mark:
    """One splice of a place; a planned one has no number yet."""

    kind: str
    state: State
    number: int | None = None


def place_maps(place: str, marks: Sequence[Mark], language: Language) -> list[Sheet]:
    """The strip with its marks, made ones first in order of number, and what they mean; long ones on more sheets."""
    looks, most = (USUAL, MOST_USUAL) if len(marks) <= MOST_USUAL else (DENSE, MOST_DENSE)
    parts = [marks[i : i + most] for i in range(0, len(marks), most)] or [[]]
    made = sum(m.state != "planned" for m in marks)
    good = sum(m.state == "accepted" for m in marks)
    result = say("map_all", language, made=made, good=good, left=len(marks) - made)
    titles = [place if len(parts) == 1 else f"{place} ({i}/{len(parts)})" for i in range(1, len(parts) + 1)]
    return [_sheet(title, result, part, looks, language) for title, part in zip(titles, parts, strict=True)]


def _sheet(
    title: str, result: str, marks: Sequence[Mark], looks: tuple[int, float, float], language: Language
) -> Sheet:
    per_row, height, _ = looks
    shapes = heading(title, result, word("map_how", language))
    top = 93 + height * 0.45
    for i in range(0, len(marks), per_row):
        shapes += _row(marks[i : i + per_row], top, looks, language)
        top += height
    signs, after = _legend_of_states(marks, top - height * 0.45 + 30, language)
    letters, end = _legend_of_kinds(marks, after + 8, language)
    return Sheet((*shapes, *signs, *letters), end + 4, f"{title}: {result}")


def _row(row: Sequence[Mark], y: float, looks: tuple[int, float, float], language: Language) -> list[Shape]:
    """A length of strip, ribs and bulb shown, its marks on it."""
    per_row, _, size = looks
    left, right, scale = 16.0, 584.0, size / USUAL[2]
    shapes: list[Shape] = [_strip(left, right, y, 30 * scale, WEB), _strip(left, right, y, 7 * scale, BULB)]
    shapes += [Line(((left, y + dy * scale), (right, y + dy * scale)), FAINT, 1) for dy in (-22, -16, 16, 22)]
    shapes += [Line(((left, y + dy * scale), (right, y + dy * scale)), INK, 1.8) for dy in (-30, 30)]
    for i, m in enumerate(row):
        at = (left + (right - left) * (i + 0.5) / per_row, y)
        shapes += _sign(m.state, at, size)
        shapes.append(Label(at, letter(m.kind, language), size * 1.06, "middle", LOOKS[m.state][2]))
        if m.number is not None:
            shapes.append(Label((at[0], y + 44 * scale), str(m.number), max(13.0, size), "middle"))
    return shapes


def _strip(left: float, right: float, y: float, half: float, fill: str) -> Polygon:
    return Polygon(((left, y - half), (right, y - half), (right, y + half), (left, y + half)), fill, "")


def letter(kind: str, language: Language) -> str:
    """The letter that stands for a kind."""
    return value_text(Term(f"letter.{kind}"), language)


def _sign(state: State, at: Point, size: float) -> list[Shape]:
    """The form of a state; what is only planned is drawn with a broken line."""
    form, fill, _ = LOOKS[state]
    if state != "planned":
        return [mark(form, at, size, fill, FAINT if state == "redone" else INK)]
    outline = mark(form, at, size, fill).points
    broken = [Line((outline[i], outline[i + 1]), FAINT, 2) for i in range(0, len(outline) - 1, 2)]
    return [Polygon(outline, fill, ""), *broken]


def _legend_of_states(marks: Sequence[Mark], top: float, language: Language) -> tuple[list[Shape], float]:
    """Two in a row; the signs of what is there, and where the next thing may stand."""
    states = [s for s in LOOKS if any(m.state == s for m in marks)]
    shapes: list[Shape] = []
    for i, state in enumerate(states):
        x, y = 34 + 290 * (i % 2), top + 34 * (i // 2)
        shapes += _sign(state, (x, y), 11)
        shapes.append(Label((x + 22, y), word(f"state_{state}", language), 17, "start"))
    return shapes, top + 34 * -(-len(states) // 2)


def _legend_of_kinds(marks: Sequence[Mark], top: float, language: Language) -> tuple[list[Shape], float]:
    kinds = list(dict.fromkeys(m.kind for m in marks))
    shapes: list[Shape] = []
    for i, kind in enumerate(kinds):
        text = f"{letter(kind, language)}  {value_text(Term(f'kind.{kind}'), language)}"
        shapes.append(Label((28 + 190 * (i % 3), top + 28 * (i // 3)), text, 17, "start"))
    return shapes, top + 28 * -(-len(kinds) // 3)
