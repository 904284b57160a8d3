"""Telephone numbers as E.164, and what must not be taken for one: short codes, names, emergency numbers.

Pure; the one set of guards for the site file, for chat and for every line. Whose number it is, is on the roster.
"""

from __future__ import annotations

import re

import phonenumbers

_E164 = re.compile(r"\+[1-9]\d{7,14}")
_LETTER = re.compile(r"[^\W\d_]")
_LEAD = re.compile(r"^\s*(tel:|sms:)", re.IGNORECASE)
_EXTENSION = re.compile(r"(?i)\s*[,;]?\s*(;ext=|ext\.?|extension|x|#)\s*\d{1,6}\s*$")
#: Mexico took the mobile prefix 1 out in 2019; older networks and phone books still show it.
_OLD_MEXICAN_MOBILE = re.compile(r"\+521(\d{10})$")
#: Shorter than any subscriber's number with its area: short codes, service numbers, a number without area.
_LEAST_DIGITS = 8


def is_number(address: str) -> bool:
    """Is it a number that can be texted, written as E.164?"""
    return _E164.fullmatch(address) is not None


def e164(text: str, region: str) -> str | None:
    """The number as E.164, read as from ``region`` where it has no country; None where it is no subscriber's number.

    A number with its country is taken where its length can be right (the network vouches for it, and invented numbers
    are used in examples); one without must be valid, or 911 would become +1911.
    """
    text = _EXTENSION.sub("", _LEAD.sub("", text))
    if _LETTER.search(text) or sum(c.isdigit() for c in text) < _LEAST_DIGITS:
        return None
    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        return None
    written = phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)
    written = _OLD_MEXICAN_MOBILE.sub(r"+52\1", written)
    return written if _is_right(phonenumbers.parse(written), text) else None


def _is_right(number: phonenumbers.PhoneNumber, text: str) -> bool:
    if phonenumbers.is_valid_number(number):
        return True
    possible = phonenumbers.is_possible_number_with_reason(number) == phonenumbers.ValidationResult.IS_POSSIBLE
    return possible and text.strip(" \u200e\u200f\u202a\u202c(").startswith(("+", "\uff0b"))
