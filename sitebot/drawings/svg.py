"""A sheet as SVG text. Only the translation of shapes lives here."""

from __future__ import annotations

from xml.etree import ElementTree as ET

from sitebot.drawings.scene import PAPER, SHEET_WIDTH, Label, Line, Point, Polygon, Shape, Sheet

FONT = "Helvetica, Arial, sans-serif"


def svg(sheet: Sheet) -> bytes:
    """The sheet as a standalone SVG file with its title for who cannot see it."""
    size = {"viewBox": f"0 0 {SHEET_WIDTH:g} {sheet.height:g}", "width": "600", "height": f"{sheet.height:g}"}
    root = ET.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "role": "img", **size})
    ET.SubElement(root, "title").text = sheet.title
    ET.SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": PAPER})
    for shape in sheet.shapes:
        _add(root, shape)
    text: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return text


def _points(points: tuple[Point, ...]) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)


def _add(root: ET.Element, shape: Shape) -> None:
    match shape:
        case Polygon(points, fill, line, width):
            style = {"fill": fill or "none", "stroke": line or "none", "stroke-width": f"{width:g}"}
            ET.SubElement(root, "polygon", {"points": _points(points), "stroke-linejoin": "round", **style})
        case Line(points, colour, width, is_dashed):
            style = {"fill": "none", "stroke": colour, "stroke-width": f"{width:g}", "stroke-linecap": "round"}
            dashes = {"stroke-dasharray": "9 7"} if is_dashed else {}
            ET.SubElement(root, "polyline", {"points": _points(points), **style, **dashes})
        case Label():
            x, y = shape.at[0] + shape.shift[0], shape.at[1] + shape.shift[1]
            # Half way up the small letters of common fonts is about a third of their size above the line.
            where = {"x": f"{x:.2f}", "y": f"{y + shape.size * 0.35:.2f}", "text-anchor": shape.anchor}
            style = {"font-family": FONT, "font-size": f"{shape.size:g}", "fill": shape.colour}
            ET.SubElement(root, "text", {**where, **style}).text = shape.text
