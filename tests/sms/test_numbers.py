"""Telephone numbers: what people and networks write, and what is no number at all."""

import pytest

from sitebot.numbers import e164, is_number


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("(312) 555-0142", "+13125550142"),
        ("011 52 55 1234 5678", "+525512345678"),
        ("tel:+1-312-555-0142", "+13125550142"),
        ("\u202a+1\u2011312\u2011555\u20110142\u202c", "+13125550142"),
        ("312 555 0142 ext. 12", "+13125550142"),
        ("+52 1 55 1234 5678", "+525512345678"),
        ("+15551230001", "+15551230001"),
    ],
)
def test_numbers_as_written(text, number):
    """Brackets, exit codes, marks of direction, extensions and the old Mexican mobile prefix."""
    assert e164(text, "US") == number


@pytest.mark.parametrize(
    "text",
    ["72345", "+172345", "911", "112", "INFO", "1-800-FLOWERS", "555-0142", "+15550142", "0013128675309", "", "+"],
)
def test_no_subscribers_number(text):
    """Short codes, emergency numbers, names, numbers without area: read carelessly each becomes somebody's number."""
    assert e164(text, "US") is None


@pytest.mark.parametrize(
    ("address", "yes"), [("+13035550162", True), ("72345", False), ("@a:b.c", False), ("+1", False)]
)
def test_what_can_be_texted(address, yes):
    """Only E.164 goes to a line."""
    assert is_number(address) is yes
