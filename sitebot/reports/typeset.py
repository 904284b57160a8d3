"""From a document to PDF, from a sheet to PNG, with the typst compiler. Knows the look and no trade.

typst: one wheel without dependencies, fonts with all letters of both languages inside, a page in milliseconds.
No file of the system and no font of it is read, so that a report looks the same everywhere.
"""

from __future__ import annotations

import dataclasses
import json
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence, Set
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sitebot.drawings.scene import SHEET_WIDTH, Sheet
from sitebot.drawings.svg import svg
from sitebot.errors import DataError
from sitebot.photos import Folder
from sitebot.reports.document import Document, Picture, Shots
from sitebot.reports.letters import printable

#: Goes through the photos one by one, and may tell how far it is.
Steps = Callable[[Sequence[str]], Iterable[str]]
TEMPLATE = Path(__file__).parent / "report.typ"
#: Pixels to an inch: a sheet becomes 1200 pixels wide, a page of paper about as many.
SHEET_PPI, PAGE_PPI = 144.0, 110.0
#: ISO 19005-2, level A: fonts inside, every picture described.
ARCHIVE = "a-2a"
_CLOCK = re.compile(r"(\d:\d\d) ([ap]m)\b")
_SHEET = f"""#set page(width: {SHEET_WIDTH:g}pt, height: auto, margin: 0pt)
#image(bytes(sys.inputs.svg), format: "svg", width: {SHEET_WIDTH:g}pt)"""


def pdf(document: Document, photos: Folder | None = None, steps: Steps = lambda names: names) -> bytes:
    """The report as PDF/A-2a: to be read in thirty years, the text selectable; the same record gives the same bytes."""
    with _laid_out(document, photos, steps) as (template, given):
        try:
            return _compile(template, format="pdf", sys_inputs=given, pdf_standards=ARCHIVE)[0]
        except DataError:
            # The archive standard refuses what a plain PDF shows; a report on the day is worth more than its format.
            return _compile(template, format="pdf", sys_inputs=given, timestamp=0)[0]


def page_images(document: Document, photos: Folder | None = None) -> list[bytes]:
    """The pages as PNG, for channels and eyes that want pictures."""
    with _laid_out(document, photos) as (template, given):
        return _compile(template, format="png", ppi=PAGE_PPI, sys_inputs=given)


@contextmanager
def _laid_out(
    document: Document, photos: Folder | None, steps: Steps = lambda names: names
) -> Iterator[tuple[Path, dict[str, str]]]:
    """The template with the small copies of the photos beside it; the compiler takes pictures from files alone."""
    shown = {shot.sha256 for b in document.blocks if isinstance(b, Shots) for shot in b.shots}
    if not shown or photos is None:
        yield TEMPLATE, {"data": _data(document, frozenset())}
        return
    with tempfile.TemporaryDirectory(prefix="sitebot-") as folder:
        there, names = set(), sorted(shown)
        # Decoding lets go of the interpreter: two cores are used where copies are still to be made.
        with ThreadPoolExecutor(2) as pool:
            for name, copy in zip(steps(names), pool.map(photos.small, names), strict=True):
                if copy:
                    (Path(folder) / f"{name}.jpg").write_bytes(copy)
                    there.add(name)
        template = Path(shutil.copy(TEMPLATE, folder))
        yield template, {"data": _data(document, there)}


def png(sheet: Sheet) -> bytes:
    """A chart or map as PNG, 1200 pixels wide, with every letter that a name may have."""
    return _compile(_SHEET.encode(), format="png", ppi=SHEET_PPI, sys_inputs={"svg": printable(svg(sheet).decode())})[0]


def _data(document: Document, photos: Set[str]) -> str:
    raw = dataclasses.asdict(document)
    raw["photos"] = sorted(photos)
    raw["blocks"] = [
        {**dataclasses.asdict(b), "svg": b.svg.decode()} if isinstance(b, Picture) else dataclasses.asdict(b)
        for b in document.blocks
    ]
    raw["blocks"] = [{k: str(v) if k == "width" else v for k, v in b.items()} for b in raw["blocks"]]
    return json.dumps(_shown(raw), ensure_ascii=False)


def _shown(raw: Any) -> Any:
    """The same data with letters that the fonts hold."""
    match raw:
        case str():
            # A time of day is not torn apart at the end of a line.
            return _CLOCK.sub("\\1\u00a0\\2", printable(raw))
        case dict():
            return {k: _shown(v) for k, v in raw.items()}
        case list() | tuple():
            return [_shown(v) for v in raw]
    return raw


def _compile(source: Path | bytes, **how: Any) -> list[bytes]:
    try:
        import typst
    except ImportError as error:
        raise DataError("Reports need the extra report: pip install sitebot[report].") from error
    root = source.parent if isinstance(source, Path) else TEMPLATE.parent
    try:
        made: Any = typst.compile(source, root=root, ignore_system_fonts=True, **how)
    except typst.TypstError as error:
        raise DataError(f"The report cannot be typeset: {error}") from error
    return list(made) if isinstance(made, list) else [made]
