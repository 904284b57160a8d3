"""Texts of people on paper: signs, directions, other scripts, and names that look like markup."""

import io

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitebot.reports import typeset
from sitebot.reports.document import Document, Lines, Picture, Table
from sitebot.reports.letters import printable


def document(text):
    return Document(
        title="t" + text,
        site=text,
        date=text,
        language="es",
        facts=((text, text),),
        blocks=(
            Table(text, (text,), ("auto",), ((text,),)),
            Lines(text, (text,)),
            Picture(text, b"<svg xmlns='http://www.w3.org/2000/svg'/>", f"x{text}"),
        ),
        signatures=(text,),
        caution=text,
        made=(2026, 1, 1),
        seal=text,
        hash="0" * 64,
        footer=text,
        page=text,
    )


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("José Ñandú ¿ya? ¡sí!", "José Ñandú ¿ya? ¡sí!"),
        ("ok 👍🏽", "ok (thumbs up sign)"),
        ("bad ❌", "bad (cross mark)"),
        ("a\u202eb\u200dc", "abc"),
        ("漢字", "??"),
        ("e\u0301", "é"),
        ("1\x07\x002", "1  2"),
        ("Жанна", "Жанна"),
    ],
)
def test_what_the_fonts_lack_is_written_out(text, shown):
    """Signs by name, other scripts as question marks, accents composed, invisible signs gone."""
    assert printable(text) == shown


def is_for_the_archive(data):
    return b"<pdfaid:part>2</pdfaid:part>" in pypdf.PdfReader(io.BytesIO(data)).trailer["/Root"]["/Metadata"].get_data()


@given(st.text(min_size=1, max_size=30))
@settings(max_examples=40, deadline=None)
def test_any_text_can_be_typeset_for_the_archive(text):
    """No text of anybody keeps a report from being made as PDF/A."""
    assert is_for_the_archive(typeset.pdf(document(text)))


def test_every_letter_we_let_through_is_in_the_fonts():
    """The archive standard refuses a letter without a glyph; of those we show it refuses none."""
    letters = "".join(chr(c) for c in range(0x10000) if printable(chr(c)) == chr(c))
    assert len(letters) > 700
    assert is_for_the_archive(typeset.pdf(document(letters)))


def test_the_file_says_that_it_is_for_the_archive():
    """Part 2, level A, in its own description (ISO 19005-2)."""
    data = typeset.pdf(document("x"))
    xmp = pypdf.PdfReader(io.BytesIO(data)).trailer["/Root"]["/Metadata"].get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in xmp
