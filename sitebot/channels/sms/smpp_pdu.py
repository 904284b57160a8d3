"""What a deliver_sm says, read from its octets (SMPP 3.4, 4.6.1 and 5.3.2): a part of a text, or a receipt.

Pure. The link itself is aiosmpplib's; reading is ours, since the library joins parts in memory only and gives up texts
that are not in the alphabet it expects.
"""

from __future__ import annotations

import re
import struct
from dataclasses import dataclass, field

from sitebot.channels.sms.joining import concatenation
from sitebot.channels.sms.line import Receipt, Step
from sitebot.wording import gsm

DELIVER_SM = 0x00000005
SUBMIT_SM = 0x00000004
RESPONSE = 0x80000000
GENERIC_NACK = 0x80000000
#: Optional fields by tag.
RECEIPTED_ID, MESSAGE_STATE, PAYLOAD = 0x001E, 0x0427, 0x0424
SAR_REFERENCE, SAR_TOTAL, SAR_PLACE = 0x020C, 0x020E, 0x020F
HAS_HEADER = 0x40
INTERNATIONAL = 1
#: SMPP 3.4, 5.2.28 and appendix B: the words of a receipt's text and the codes of its optional field.
STATES = {
    "ENROUTE": Step.SENT,
    "DELIVRD": Step.DELIVERED,
    "EXPIRED": Step.FAILED,
    "DELETED": Step.FAILED,
    "UNDELIV": Step.FAILED,
    "ACCEPTD": Step.SENT,
    "UNKNOWN": Step.SENT,
    "REJECTD": Step.FAILED,
}
_BY_CODE = dict(enumerate(STATES, start=1))
_RECEIPT = re.compile(r"\bid:\s*(?P<id>\S+).*?\bstat:\s*(?P<stat>[A-Z]+)(?:.*?\berr:\s*(?P<err>\S+))?", re.I | re.S)


@dataclass(frozen=True, slots=True)
class Header:
    command: int
    status: int
    sequence: int


@dataclass(frozen=True, slots=True)
class Delivered:
    """The fields of a deliver_sm that concern us."""

    sender: str
    to: str
    esm_class: int
    coding: int
    octets: bytes
    options: dict[int, bytes] = field(default_factory=dict)


def header_of(pdu: bytes) -> Header:
    _, command, status, sequence = struct.unpack(">IIII", pdu[:16])
    return Header(command, status, sequence)


def message_id(pdu: bytes) -> str:
    """The id in a submit_sm_resp; some leave it out when they refuse."""
    return _string(pdu, 16)[0] if len(pdu) > 16 else ""


def read_deliver(pdu: bytes) -> Delivered:
    """The fields; ValueError or IndexError where the octets are cut short."""
    _, at = _string(pdu, 16)
    sender, at = _address(pdu, at)
    to, at = _address(pdu, at)
    esm_class = pdu[at]
    at = _string(pdu, _string(pdu, at + 3)[1])[1]
    coding, size = pdu[at + 2], pdu[at + 4]
    octets, at = pdu[at + 5 : at + 5 + size], at + 5 + size
    options: dict[int, bytes] = {}
    while at + 4 <= len(pdu):
        tag, length = struct.unpack(">HH", pdu[at : at + 4])
        options[tag] = pdu[at + 4 : at + 4 + length]
        at += 4 + length
    return Delivered(sender, to, esm_class, coding, octets or options.get(PAYLOAD, b""), options)


def _string(pdu: bytes, at: int) -> tuple[str, int]:
    end = pdu.index(0, at)
    return pdu[at:end].decode("latin-1"), end + 1


def _address(pdu: bytes, at: int) -> tuple[str, int]:
    """With its + where the network says that it is international."""
    kind = pdu[at]
    number, after = _string(pdu, at + 2)
    return ("+" + number if kind == INTERNATIONAL and not number.startswith("+") else number), after


def receipt_of(message: Delivered) -> Receipt | None:
    """The receipt that a deliver_sm carries; in its optional fields, in its text, or both."""
    text = message.octets.decode("latin-1")
    found = _RECEIPT.search(text)
    is_one = message.esm_class & 0x3C == 0x04 or (message.esm_class & 0x3C == 0 and bool(found and "sub:" in text))
    if not is_one:
        return None
    ident = message.options.get(RECEIPTED_ID, b"").rstrip(b"\0").decode("latin-1") or (found["id"] if found else "")
    code = message.options.get(MESSAGE_STATE, b"\0")[0]
    word = _BY_CODE.get(code) or (found["stat"].upper() if found else "UNKNOWN")
    return Receipt(
        STATES.get(word, Step.SENT), id=ident, detail=f"{word} {found['err'] or '' if found else ''}".strip()
    )


def part_of(message: Delivered, alphabet: str) -> tuple[str, tuple[int, int, int]] | None:
    """The text of one part with its reference, total and place; None where it is no text."""
    octets, place = message.octets, _sar(message.options)
    if message.esm_class & HAS_HEADER and octets:
        header, octets = octets[: 1 + octets[0]], octets[1 + octets[0] :]
        place = concatenation(header)
    text = _text(octets, message.coding, alphabet)
    return None if text is None else (text, place)


def _sar(options: dict[int, bytes]) -> tuple[int, int, int]:
    if not all(tag in options for tag in (SAR_REFERENCE, SAR_TOTAL, SAR_PLACE)):
        return 0, 1, 1
    return int.from_bytes(options[SAR_REFERENCE], "big"), options[SAR_TOTAL][-1], options[SAR_PLACE][-1]


def _text(octets: bytes, coding: int, alphabet: str) -> str | None:
    """By data_coding (5.2.19). 0 is whatever the other side uses, commonly the alphabet of SMS, one septet an octet."""
    if coding == 8:
        return octets.decode("utf-16-be", "surrogatepass" if len(octets) % 2 == 0 else "replace")
    if coding in (2, 4) or coding & 0xF4 == 0xF4:
        return None
    is_default = coding == 0 or coding & 0xF0 == 0xF0
    if is_default and alphabet == "gsm7" and all(o < 0x80 for o in octets):
        return gsm.of_septets(octets)
    return octets.decode("latin-1")
