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
PER_ROW, ROW, SIZE = 9, 104.0, 17.0


@dataclass(frozen=True, slots=True)
class Mark:
    """One splice of a place; a planned one has no number yet."""

    kind: str
    state: State
    number: int | None = None


def place_map(place: str, marks: Sequence[Mark], language: Language) -> Sheet:
    """The strip with its marks, made ones first in order of number, and what the marks mean."""
    made = [m for m in marks if m.state != "planned"]
    good = sum(m.state == "accepted" for m in marks)
    result = say("map_all", language, made=len(made), good=good, left=len(marks) - len(made))
    shapes = heading(place, result, word("map_how", language))
    rows = [marks[i : i + PER_ROW] for i in range(0, len(marks), PER_ROW)] or [[]]
    for r, row in enumerate(rows):
        shapes += _row(row, 140 + r * ROW, language)
    top = 140 + len(rows) * ROW - 8
    signs, after = _legend_of_states(marks, top, language)
    letters, end = _legend_of_kinds(marks, after + 8, language)
    return Sheet((*shapes, *signs, *letters), end + 4, f"{place}: {result}")


def _row(row: Sequence[Mark], y: float, language: Language) -> list[Shape]:
    """A length of strip, ribs and bulb shown, its marks on it."""
    left, right = 16.0, 584.0
    shapes: list[Shape] = [Polygon(((left, y - 30), (right, y - 30), (right, y + 30), (left, y + 30)), WEB, "")]
    shapes.append(Polygon(((left, y - 7), (right, y - 7), (right, y + 7), (left, y + 7)), BULB, ""))
    shapes += [Line(((left, y + dy), (right, y + dy)), FAINT, 1) for dy in (-22, -16, 16, 22)]
    shapes += [Line(((left, y + dy), (right, y + dy)), INK, 1.8) for dy in (-30, 30)]
    for i, m in enumerate(row):
        at = (left + (right - left) * (i + 0.5) / PER_ROW, y)
        shapes += _sign(m.state, at, SIZE)
        shapes.append(Label(at, letter(m.kind, language), 18, "middle", LOOKS[m.state][2]))
        if m.number is not None:
            shapes.append(Label((at[0], y + 44), str(m.number), 17, "middle"))
    return shapes


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
