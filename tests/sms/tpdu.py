"""SMS-DELIVER, SMS-SUBMIT and SMS-STATUS-REPORT (3GPP TS 23.040), with a codec of its own: it judges ours."""

from datetime import UTC, datetime

# Written out once more from TS 23.038 6.2.1, so that a slip in the package is not repeated here.
ROWS = (
    "@£$¥èéùìòÇ\nØø\rÅå",
    "Δ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ",
    " !\"#¤%&'()*+,-./",
    "0123456789:;<=>?",
    "¡ABCDEFGHIJKLMNO",
    "PQRSTUVWXYZÄÖÑÜ§",
    "¿abcdefghijklmno",
    "pqrstuvwxyzäöñüà",
)
ALPHABET = "".join(ROWS)
EXTENSION = dict(zip("\f^{}\\[~]|€", bytes.fromhex("0a1428292f3c3d3e4065"), strict=True))


def to_septets(text):
    """Codes of a text, or None where the alphabet lacks a character."""
    codes = bytearray()
    for c in text:
        if c in EXTENSION:
            codes += bytes((27, EXTENSION[c]))
        elif c in ALPHABET and c != "\x1b":
            codes.append(ALPHABET.index(c))
        else:
            return None
    return bytes(codes)


def of_septets(codes):
    text, escaped, back = "", False, {v: k for k, v in EXTENSION.items()}
    for code in codes:
        if escaped:
            text, escaped = text + back.get(code, ALPHABET[code]), False
        elif code == 27:
            escaped = True
        else:
            text += ALPHABET[code]
    return text


def pack(codes, fill=0):
    value = sum(code << (fill + 7 * i) for i, code in enumerate(codes))
    return value.to_bytes((fill + 7 * len(codes) + 7) // 8, "little")


def unpack(octets, count, fill=0):
    value = int.from_bytes(octets, "little") >> fill
    return bytes(value >> (7 * i) & 0x7F for i in range(count))


def semi_octets(digits):
    digits += "F" * (len(digits) % 2)
    return bytes(int(digits[i + 1] + digits[i], 16) for i in range(0, len(digits), 2))


def of_semi_octets(octets):
    return "".join(f"{x & 15:X}{x >> 4:X}" for x in octets).rstrip("F")


def address(number):
    """International with +, national or short by digits, a name otherwise."""
    if number.startswith("+"):
        return bytes([len(number) - 1, 0x91]) + semi_octets(number[1:])
    if number.isdigit():
        return bytes([len(number), 0x81]) + semi_octets(number)
    codes = to_septets(number)
    return bytes([(len(codes) * 7 + 3) // 4, 0xD0]) + pack(codes)


def read_address(octets, at):
    digits, kind = octets[at], octets[at + 1]
    end = at + 2 + (digits + 1) // 2
    number = ("+" if kind & 0x70 == 0x10 else "") + of_semi_octets(octets[at + 2 : end])
    return number, end


def stamp(moment):
    quarters = int(moment.utcoffset().total_seconds() // 900)
    zone = semi_octets(f"{abs(quarters):02d}")[0] | (0x08 if quarters < 0 else 0)
    return semi_octets(moment.strftime("%y%m%d%H%M%S")) + bytes([zone])


def centre(number="+15550000000"):
    octets = address(number)
    return bytes([len(octets) - 1]) + octets[1:]


def deliver(number, text, header=b"", when=None, ucs2=None, coding=None, payload=None):
    """A text that arrives at the phone, as hex."""
    when = when or datetime.now(UTC)
    codes = to_septets(text) if not ucs2 else None
    head = bytes([len(header)]) + header if header else b""
    if payload is not None:
        coding, data, size = coding if coding is not None else 4, head + payload, len(head + payload)
    elif codes is None:
        coding, data = 8, head + text.encode("utf-16-be", "surrogatepass")
        size = len(data)
    else:
        fill = -len(head) * 8 % 7
        coding, data = 0, head + pack(codes, fill if head else 0)
        size = len(codes) + (len(head) * 8 + fill) // 7 if head else len(codes)
    assert len(data) <= 140, len(data)
    first = 0x04 | (0x40 if header else 0)
    body = bytes([first]) + address(number) + bytes([0, coding]) + stamp(when) + bytes([size]) + data
    return (centre() + body).hex().upper()


def status_report(reference, number, status, sent, smsc="+15550000000"):
    body = bytes([0x06, reference]) + address(number) + stamp(sent) + stamp(datetime.now(UTC)) + bytes([status])
    return (centre(smsc) + body).hex().upper()


def read_submit(text):
    """What a phone is asked to send."""
    octets = bytes.fromhex(text)
    at = 1 + octets[0]
    first, reference = octets[at], octets[at + 1]
    assert first & 3 == 1, "not SMS-SUBMIT"
    to, at = read_address(octets, at + 2)
    coding = octets[at + 1]
    at += 2 + {0: 0, 2: 1, 1: 7, 3: 7}[first >> 3 & 3]
    size, data = octets[at], octets[at + 1 :]
    header = data[1 : 1 + data[0]] if first & 0x40 else b""
    skip = len(header) + 1 if header else 0
    if coding & 0x0C == 0x08:
        said = data[skip:size].decode("utf-16-be", "surrogatepass")
    else:
        fill = -skip * 8 % 7
        said = of_septets(unpack(data[skip:], size - (skip * 8 + fill) // 7, fill))
    return {
        "to": to,
        "text": said,
        "header": header.hex(),
        "coding": coding,
        "wants_report": bool(first & 0x20),
        "reference": reference,
        "octets": len(data),
    }
