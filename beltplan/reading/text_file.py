"""The text of a layout file: its bytes, guarded by size, decoded, and free of control characters."""

from __future__ import annotations

import re

from yaml.reader import Reader

from beltplan.reading.document import FILE
from beltplan.reading.faults import FaultList, quoted

MOST_BYTES = 256 * 1024
BYTE_ORDER_MARK = "\ufeff"
_LONE_RETURN = re.compile(r"\r(?!\n)")


def read_text(path: str, faults: FaultList) -> str | None:
    """The file's text, or None where it cannot be read; the reason is noted in `faults`."""
    data = _bytes_of(path, faults)
    if data is None:
        return None
    if len(data) > MOST_BYTES:
        faults.add(1, FILE, f"more than {MOST_BYTES // 1024} kB", f"a layout of at most {MOST_BYTES // 1024} kB")
        return None
    return _decoded(data, faults)


def _bytes_of(path: str, faults: FaultList) -> bytes | None:
    try:
        with open(path, "rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = "a folder" if isinstance(error, IsADirectoryError) else getattr(error, "strerror", None) or str(error)
        faults.add(1, FILE, f"{reason[:1].lower()}{reason[1:]}", "the path of a layout file that can be read")
        return None


def _decoded(data: bytes, faults: FaultList) -> str | None:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        faults.add(line, FILE, f"a byte that is not UTF-8 ({error.reason})", "UTF-8 text")
        return None
    at = _first_unprintable(text)
    if at is None:
        # A carriage return by itself ends a line (YAML 1.1, 5.4); edits of the text look for line feeds.
        return _LONE_RETURN.sub("\n", text)
    line = text.count("\n", 0, at) + 1
    faults.add(line, FILE, f"the control character {quoted(text[at])}", "text without control characters")
    return None


def _first_unprintable(text: str) -> int | None:
    """Where the first character stands that YAML 1.1 (5.1) does not call printable, a byte order mark among them."""
    bad, mark = Reader.NON_PRINTABLE.search(text), text.find(BYTE_ORDER_MARK)
    places = [] if bad is None else [bad.start()]
    return min(places + [mark] * (mark >= 0), default=None)
