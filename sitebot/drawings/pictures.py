"""The picture of each kind of cut: the joint in place, the pieces on the saw, the angle from square.

Composition only: how a strip looks is strip.py's, the angles are trade's, words are in rules/words/<language>/terms.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from sitebot.drawings.scene import BLADE, FAINT, INK, Label, Line, Rect, Shape, Sheet, arc, fitted, mirrored, moved
from sitebot.drawings.strip import BULB_THICK, camera, leg_from_above, leg_from_edge, leg_in_space, piece_from_front
from sitebot.trade import cuts, space

Words = Mapping[str, Any]
"""Words of a language by key (``draw.left``)."""


def degrees(angle: float) -> str:
    """An angle as a picture says it."""
    return f"{round(angle, 2 if angle * 4 == round(angle * 4) else 1):g}°"


def sheet_of(picture: Mapping[str, Any], words: Words) -> Sheet:
    """The sheet for a picture as an answer names it: ``drawing`` and its angles."""
    kind = picture["drawing"]
    if kind == "straight":
        return turn_flat(0.0, words)
    if kind == "turn":
        draw = turn_edge if picture.get("plane") == "edge" else turn_flat
        return draw(float(picture["turn_deg"]), words)
    if kind == "compound":
        return compound(float(picture["flat_turn_deg"]), float(picture["edge_turn_deg"]), words)
    return fitting(kind, [float(g) for g in picture["legs_deg"]], words)


def heading(title: str, result: str) -> list[Shape]:
    return [Label((300, 34), title, 30), Label((300, 74), result, 28, colour=BLADE)]


def caption(y: float, text: str) -> Label:
    return Label((16, y), text, 22, "start", FAINT)


def footer(y: float, *lines: str) -> list[Shape]:
    return [Label((300, y + 30 * i), line, 23 if len(line) < 52 else 21) for i, line in enumerate(lines)]


def turn_flat(turn_deg: float, words: Words) -> Sheet:
    """A turn in the plane of the web; a turn of 0 is the straight joint."""
    cut = cuts.flat_turn(turn_deg).miter_deg
    title = f"{words['draw.turn_flat']} {degrees(turn_deg)}" if turn_deg else str(words["draw.straight"])
    result = f"{words['draw.miter']} {degrees(cut)} {words['draw.each_end']}"
    length = leg_length(cut)
    joint = [*leg_from_above(180, -cut, cut, length), *leg_from_above(turn_deg, cut, -cut, length)]
    if turn_deg:
        joint += turn_arc(turn_deg, length)
    shapes = [*heading(title, result), caption(114, words["draw.in_place"])]
    shapes += fitted(joint, (70, 130, 460, 250))
    shapes.append(caption(410, words["draw.on_saw"]))
    shapes += both_on_saw(cut, words, (30, 425, 540, 205))
    shapes += footer(690, f"{words['draw.from_square']} {str(words['draw.blade_upright']).capitalize()}.")
    if turn_deg:
        shapes += footer(722, words["draw.other_hand"])
    return Sheet(tuple(shapes), 750 if turn_deg else 718, f"{title}: {result}")


def leg_length(cut_deg: float, half: float = 0.5) -> float:
    """Long enough that a good part of a leg stands behind its cut."""
    return max(2.2, half * math.tan(math.radians(abs(cut_deg))) + 1.4)


def turn_arc(turn_deg: float, length: float = 2.2) -> list[Shape]:
    """Straight on, dashed, and how far the second leg leaves it; a small turn is written past the leg's end."""
    middle = math.radians(turn_deg / 2)
    radius = length + 0.1 if turn_deg < 40 else 1.45
    spot = ((radius + 0.17) * math.cos(middle), (radius + 0.17) * math.sin(middle))
    return [
        Line(((0, 0), (length + 0.2, 0)), FAINT, 2, is_dashed=True),
        Line(arc((0, 0), radius, 0, turn_deg), FAINT, 2.5),
        Label(spot, degrees(turn_deg), 26, "start", shift=(4, -4)),
    ]


def cut_marks(cut_deg: float, tip: tuple[float, float], reach: float) -> list[Shape]:
    """From a tip on the near edge: square, dashed; the blade line; the angle between."""
    x, y = tip
    top = y + reach
    blade_top = (x - reach * math.tan(math.radians(cut_deg)), top)
    shapes: list[Shape] = [
        Line(((x, y - 0.15), (x, top)), FAINT, 2, is_dashed=True),
        Line(((x + 0.15 * math.tan(math.radians(cut_deg)), y - 0.15), blade_top), BLADE, 3.5),
    ]
    if cut_deg:
        shapes.append(Line(arc((x, y), reach * 0.88, 90, 90 + cut_deg), BLADE, 2.5))
        shapes.append(Label(((x + blade_top[0]) / 2, top), degrees(cut_deg), 27, "middle", BLADE, shift=(-2, -14)))
    return shapes


def both_on_saw(
    cut_deg: float, words: Words, into: Rect, first: str = "draw.left", second: str = "draw.right"
) -> list[Shape]:
    """Left and right piece beside one another, each cut at the same angle to the other hand."""
    reach = 0.5 * math.tan(math.radians(cut_deg))
    left = [*leg_from_above(180, -cut_deg, cut_deg, 2.0 + reach), *cut_marks(cut_deg, (reach, -0.5), 1.3)]
    left.append(Label((-1.2, -0.5), words[first], 23, shift=(0, 24)))
    apart = reach + 0.75
    left = moved(left, lambda p: (p[0] - apart, p[1]))
    right = mirrored(left)
    between = Label((0, 0.8), words["draw.square"], 20, "middle", FAINT, shift=(0, 10))
    return fitted([*left, *(rename(s, words[first], words[second]) for s in right), between], into)


def rename(shape: Shape, old: str, new: str) -> Shape:
    if isinstance(shape, Label) and shape.text == old:
        return Label(shape.at, new, shape.size, shape.anchor, shape.colour, shape.shift)
    return shape


def turn_edge(turn_deg: float, words: Words) -> Sheet:
    """A turn the easy way: the blade leans, the table stays at 0."""
    tilt = cuts.edge_turn(turn_deg).bevel_deg
    title = f"{words['draw.turn_edge']} {degrees(turn_deg)}"
    result = f"{words['draw.bevel']} {degrees(tilt)} {words['draw.each_end']}"
    # Leg 1 comes from the left, upper face up (right of its way out); leg 2 climbs, upper face to its left.
    length = leg_length(tilt, BULB_THICK / 2)
    joint = [*leg_from_edge(180, -tilt, length), *leg_from_edge(turn_deg, tilt, length), *turn_arc(turn_deg, length)]
    shapes = [*heading(title, result), caption(114, words["draw.in_place_edge"])]
    joint.append(Label((-1.6, 0.2), words["draw.bulb"], 20, colour=FAINT, shift=(0, -18)))
    joint.append(Label((-1.6, 0.0), words["draw.web"], 20))
    shapes += fitted(joint, (70, 130, 460, 250))
    shapes.append(caption(410, words["draw.on_saw_front"]))
    shapes += both_from_front(tilt, words, (30, 430, 540, 175))
    shapes += footer(
        665, f"{words['draw.from_square']} {str(words['draw.miter']).capitalize()} 0°.", words["draw.web_down"]
    )
    return Sheet(tuple(shapes), 725, f"{title}: {result}")


def both_from_front(tilt_deg: float, words: Words, into: Rect) -> list[Shape]:
    """Left and right piece on the table, the blade leaning over each, or (below 0) away from it."""
    lean = math.tan(math.radians(tilt_deg))
    reach = 1.0
    left: list[Shape] = [*piece_from_front(tilt_deg), Line(((0.08 * lean, -0.08), (-reach * lean, reach)), BLADE, 3.5)]
    left.append(Line(((0, -0.08), (0, reach)), FAINT, 2, is_dashed=True))
    if tilt_deg:
        left.append(Line(arc((0, 0), reach * 0.85, 90, 90 + tilt_deg), BLADE, 2.5))
        left.append(Label((-reach * lean / 2, reach), degrees(abs(tilt_deg)), 27, "middle", BLADE, shift=(-2, -14)))
    left.append(Label((-1.1, 0), words["draw.left"], 23, shift=(0, 24)))
    left = moved(left, lambda p: (p[0] - 0.75, p[1]))
    right = [rename(s, words["draw.left"], words["draw.right"]) for s in mirrored(left)]
    table = Line(((-2.9, 0), (2.9, 0)), INK, 4)
    between = Label((0, reach), words["draw.upright"], 20, "middle", FAINT, shift=(0, 8))
    return fitted([*left, *right, table, between], into)


def compound(flat_deg: float, edge_deg: float, words: Words) -> Sheet:
    """Both turns in one joint, in space and in the two views at the saw."""
    joint = space.compound_turn(flat_deg, edge_deg)
    cut = joint.first
    way = words["draw.climb" if edge_deg >= 0 else "draw.drop"]
    title = f"{words['draw.compound']}: {degrees(flat_deg)} {words['draw.flat']}, {degrees(abs(edge_deg))} {way}"
    result = f"{words['draw.miter']} {degrees(cut.miter_deg)}, {words['draw.bevel']} {degrees(cut.bevel_deg)}"
    shapes = [*heading(title, result), caption(114, words["draw.in_space"])]
    shapes += fitted(in_space(joint, flat_deg, edge_deg), (60, 130, 480, 260))
    shapes.append(caption(415, words["draw.on_saw"]))
    shapes += both_on_saw(cut.miter_deg, words, (30, 430, 540, 195))
    shapes.append(caption(690, words["draw.on_saw_front"]))
    lean = cut.bevel_deg if cut.tilt != "right" else -cut.bevel_deg
    shapes += both_from_front(lean, words, (30, 710, 540, 160))
    lines = [hands(words, "draw.left", cut), hands(words, "draw.right", joint.second)]
    lines.append(f"{words['draw.from_square']}")
    if abs(joint.twist_deg) >= 0.5:
        lines.append(f"{words['draw.rolled']} {degrees(abs(round(joint.twist_deg, 1)))}.")
    shapes += footer(935, *lines)
    return Sheet(tuple(shapes), 935 + 30 * len(lines), f"{title}: {result}")


def hands(words: Words, piece: str, cut: space.SawCut) -> str:
    """Which hand each piece's handle and blade go to."""
    to = {"left": words["draw.hand_left"], "right": words["draw.hand_right"], "none": "0°"}
    name = str(words[piece]).capitalize()
    return f"{name}: {words['draw.handle']} {to[cut.swing]}, {words['draw.leans']} {to[cut.tilt]}."


def in_space(joint: space.SpaceJoint, flat_deg: float, edge_deg: float) -> list[Shape]:
    """Both legs as the eye sees them from outside the turn, the nearer faces last."""
    view = camera(-60.0, 32.0)
    minus: space.Vector = (-joint.blade[0], -joint.blade[1], -joint.blade[2])
    legs = leg_in_space((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), joint.blade, view)
    legs += leg_in_space(space.heading(flat_deg, edge_deg), joint.second_web, minus, view)
    return [shape for _, shape in sorted(legs, key=lambda face: face[0])]


def fitting(kind: str, gaps_deg: Sequence[float], words: Words) -> Sheet:
    """A tee, cross or wye: the whole joint, and each different end on the saw."""
    legs = cuts.flat_joint(gaps_deg)
    title = f"{words[f'draw.{kind}']} {'/'.join(degrees(g)[:-1] for g in gaps_deg)}°"
    found = [degrees(c) for c in cuts.cuts_of_gaps(gaps_deg)]
    result = f"{words['draw.miter']} {', '.join(found)}"
    bearing, joint, bearings = start_bearing(kind, gaps_deg), [], []
    length = max(1.9, *(leg_length(cut) - 0.3 for cut in cuts.cuts_of_gaps(gaps_deg)))
    for leg in legs:
        joint += leg_from_above(bearing, leg.cut_after_deg, leg.cut_before_deg, length)
        bearings.append(bearing)
        bearing += leg.gap_after_deg
    for first, gap in zip(bearings, gaps_deg, strict=True):
        joint += gap_label(first, gap, length)
    shapes = [*heading(title, result), caption(114, words["draw.in_place"])]
    shapes += fitted(joint, (60, 140, 480, 318))
    shapes.append(caption(485, words["draw.on_saw"]))
    ends = different_ends(legs, words)
    height = 240.0
    for i, (leg, name) in enumerate(ends):
        shapes += fitted(point_on_saw(leg, name, words), (40, 520 + i * height, 440, height - 60))
    bottom = 500 + len(ends) * height
    shapes += footer(bottom + 20, words["draw.from_square"], words["draw.once"])
    return Sheet(tuple(shapes), bottom + 80, f"{title}: {result}")


def start_bearing(kind: str, gaps_deg: Sequence[float]) -> float:
    """The run of a tee lies level; of other joints the first gap opens upwards."""
    if kind == "tee" and 180 in gaps_deg:
        # The leg after the straight back points right, so that the run lies level with the branch above it.
        position = list(gaps_deg).index(180)
        return -sum(gaps_deg[: position + 1])
    return 90 - gaps_deg[0] / 2 if kind == "cross" else 90.0


def gap_label(bearing_deg: float, gap_deg: float, length: float) -> list[Shape]:
    """The angle between two legs, written where they part."""
    middle = math.radians(bearing_deg + gap_deg / 2)
    away = 0.62 / max(math.sin(math.radians(min(gap_deg, 180) / 2)), 0.35) + 0.2
    if gap_deg < 50:
        away = length + 0.3
    spot = (away * math.cos(middle), away * math.sin(middle))
    return [Label(spot, degrees(gap_deg), 24)]


def different_ends(legs: Sequence[cuts.Leg], words: Words) -> list[tuple[cuts.Leg, str]]:
    """Each end that is cut differently, mirror images once, with its name."""
    found: dict[tuple[float, ...], cuts.Leg] = {}
    for leg in legs:
        found.setdefault(tuple(sorted((round(leg.cut_before_deg, 6), round(leg.cut_after_deg, 6)))), leg)
    if len(found) == 1:
        return [(next(iter(found.values())), str(words["draw.end"]))]
    has_run = any(180 in (leg.gap_before_deg, leg.gap_after_deg) for leg in legs)
    ends = [(leg, end_name(leg, has_run, words)) for leg in found.values()]
    return sorted(ends, key=lambda end: 180 in (end[0].gap_before_deg, end[0].gap_after_deg))


def end_name(leg: cuts.Leg, has_run: bool, words: Words) -> str:
    """A run piece by its gap to the branch, the branch, or a leg by both its gaps."""
    gaps = (leg.gap_before_deg, leg.gap_after_deg)
    if not has_run:
        return f"{words['draw.leg']} {degrees(gaps[0])}/{degrees(gaps[1])}"
    return f"{words['draw.run']} {degrees(min(gaps))}" if 180 in gaps else str(words["draw.branch"])


def point_on_saw(leg: cuts.Leg, name: str, words: Words) -> list[Shape]:
    """One end with its two cuts, kept on the left, its point to the right."""
    # Turned to point right (bearing 180 seen from the joint) its left half lies below.
    longest = max(abs(leg.cut_after_deg), abs(leg.cut_before_deg))
    length = max(3.2, leg_length(longest))
    shapes = leg_from_above(180, leg.cut_after_deg, leg.cut_before_deg, length)
    shapes.append(Label((-length, 0.5), name, 23, "start", shift=(2, -18)))
    shapes.append(Line(((0, -0.75), (0, 0.75)), FAINT, 2, is_dashed=True))
    shapes.append(Label((0, 0), words["draw.square"], 20, "start", FAINT, shift=(10, 0)))
    for cut, side in ((leg.cut_before_deg, 1), (leg.cut_after_deg, -1)):
        shapes += half_cut_marks(cut, side)
    return shapes


def half_cut_marks(cut_deg: float, side: int) -> list[Shape]:
    """The blade line of one half, run on past the edge, and its angle from square."""
    lean = math.tan(math.radians(cut_deg))
    reach = 0.72
    end = (-reach * lean, side * reach)
    shapes: list[Shape] = [Line(((0, 0), end), BLADE, 3.5)]
    if abs(cut_deg) > 1e-9:
        shapes.append(Line(arc((0, 0), 0.6, 90 * side, (90 + cut_deg) * side), BLADE, 2.5))
    middle = end[0] / 2 if abs(cut_deg) > 1e-9 else 0.0
    anchor_shift = (0.0, -14.0 * side)
    shapes.append(Label((middle, side * 0.75), degrees(abs(cut_deg)), 26, "middle", BLADE, shift=anchor_shift))
    return shapes
