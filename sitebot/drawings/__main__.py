"""Writes the pictures of the eight usual cuts, for the handbook: ``python -m sitebot.drawings OUTDIR [en|es]``."""

from __future__ import annotations

import sys
from pathlib import Path

from sitebot.drawings import draw

USUAL: dict[str, dict[str, object]] = {
    "straight": {"drawing": "straight"},
    "flat-turn": {"drawing": "turn", "plane": "flat", "turn_deg": 60.0},
    "edge-turn": {"drawing": "turn", "plane": "edge", "turn_deg": 45.0},
    "compound-turn": {"drawing": "compound", "flat_turn_deg": 90.0, "edge_turn_deg": 45.0},
    "tee": {"drawing": "tee", "legs_deg": [90.0, 90.0, 180.0]},
    "skew-tee": {"drawing": "tee", "legs_deg": [60.0, 120.0, 180.0]},
    "cross": {"drawing": "cross", "legs_deg": [90.0, 90.0, 90.0, 90.0]},
    "wye": {"drawing": "wye", "legs_deg": [120.0, 120.0, 120.0]},
}


def main(folder: Path, language: str = "en") -> None:
    """Writes PNG and SVG of each into the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, picture in USUAL.items():
        drawing = draw(picture, language)
        (folder / f"cut-{name}.png").write_bytes(drawing.png)
        (folder / f"cut-{name}.svg").write_bytes(drawing.svg)


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    main(Path(sys.argv[1]), *sys.argv[2:])
