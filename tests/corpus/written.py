"""Files that a run wrote, as text that can be compared and shown."""

import hashlib
import re
import zlib
from pathlib import Path

_STREAM = re.compile(rb"stream\r?\n(.*?)\r?\nendstream", re.DOTALL)
MOST_ODD = 0.03
"""Share of bytes in a text that are none: a page has a few in its words, a font is full of them."""
_LONG = re.compile(r"-?\d+\.\d{7,}")


def text_of(path: Path) -> str:
    """A file as text: a PDF by what its pages hold; numbers of more than six decimals rounded to six.

    The last digits of an export come out otherwise on another machine.
    """
    data = path.read_bytes()
    if path.suffix == ".pdf":
        return _pages(data)
    try:
        return _LONG.sub(_rounded, data.decode("utf-8"))
    except UnicodeDecodeError:
        return _digest(data)


def _rounded(number: re.Match[str]) -> str:
    return f"{round(float(number[0]), 6) + 0.0:.6f}"


def _pages(data: bytes) -> str:
    """The streams of a PDF in order, unpacked; what is no text, as a font, by its digest. Dates and tables are left."""
    return "\n".join(map(_stream, _STREAM.findall(data)))


def _stream(packed: bytes) -> str:
    try:
        # Not `zlib.decompress`: the last byte of a stream may be a carriage return, and stay outside the match.
        data = zlib.decompressobj().decompress(packed)
    except zlib.error:
        data = packed
    odd = sum(not (32 <= byte < 127 or byte in b"\t\r\n") for byte in data)
    return data.decode("ascii", "backslashreplace") if odd <= MOST_ODD * len(data) else _digest(data)


def _digest(data: bytes) -> str:
    return f"{len(data)} bytes, sha256 {hashlib.sha256(data).hexdigest()}"
