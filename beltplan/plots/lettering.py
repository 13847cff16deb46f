"""How wide a line of text is, before anything is drawn: advance widths of the letters that the painter uses."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

UNITS_PER_EM = 2048
ASCENT_EM = 0.78
"""Room over the baseline: capitals with an accent stand 0.93 high, but rarely; brackets and letters 0.76."""
DESCENT_EM = 0.25
BOLD = 1.24
"""Bold letters are at most this much wider (J, capital, is 1.26; no word is all J)."""
UNKNOWN = 2100
"""Width taken for a letter that is not listed: the widest listed."""

# Source: horizontal advance widths in the font file DejaVuSans.ttf, which comes with matplotlib.
_LETTERS_BY_WIDTH = {
    563: "'",
    569: "ijl\u0131",
    604: "IJ",
    651: " ,.\u00b7\u00a0",
    690: "/:;\\|",
    721: "f",
    739: "-",
    799: "()[]",
    803: "t",
    821: "!",
    842: "r",
    942: '"',
    1024: "*_`\u00b0\u2013",
    1067: "s",
    1075: "z",
    1087: "?",
    1126: "c",
    1141: "L",
    1178: "F",
    1186: "k",
    1212: "vxy",
    1235: "P",
    1251: "TY",
    1253: "o",
    1255: "a",
    1260: "e",
    1290: "\u00df",
    1294: "E",
    1298: "hnu",
    1300: "Sbdgpq",
    1303: "$0123456789{}",
    1343: "K",
    1401: "AV",
    1403: "XZ",
    1405: "B",
    1423: "R",
    1430: "C",
    1499: "U",
    1532: "N",
    1540: "H",
    1577: "D",
    1587: "G",
    1597: "&",
    1612: "OQ\u00d8",
    1675: "w",
    1716: "#+<=>^~\u00d7\u00b1",
    1767: "M",
    1946: "%",
    1995: "m",
    2025: "W",
    2048: "@",
}
_WIDTHS = {letter: width for width, letters in _LETTERS_BY_WIDTH.items() for letter in letters}


def text_width_pt(text: str, size_pt: float, bold: bool = False) -> float:
    """Width of a line of text, points; accents are taken off their letters, unknown letters count as the widest."""
    letters: str | list[str] = text
    if not text.isascii():
        letters = [letter for letter in unicodedata.normalize("NFD", text) if not unicodedata.combining(letter)]
    units = sum([_WIDTHS.get(letter, UNKNOWN) for letter in letters])
    return units / UNITS_PER_EM * size_pt * (BOLD if bold else 1.0)


def one_line(text: str) -> str:
    """Text without line breaks and without letters that cannot be printed."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


@lru_cache(maxsize=1024)
def wrapped(text: str, width_pt: float, size_pt: float, bold: bool = False) -> tuple[str, ...]:
    """Text broken into lines no wider than `width_pt`; a wider word is cut, after '_' or '-' if it can."""
    lines, line = [], ""
    for word in one_line(text).split(" "):
        longer = f"{line} {word}".strip()
        if line and text_width_pt(longer, size_pt, bold) > width_pt:
            lines.append(line)
            longer = word
        *full, line = _pieces(longer, width_pt, size_pt, bold)
        lines += full
    return (*lines, line)


def _pieces(word: str, width_pt: float, size_pt: float, bold: bool) -> list[str]:
    if text_width_pt(word, size_pt, bold) <= width_pt or len(word) < 2:
        return [word]
    keep = max(n for n in range(1, len(word)) if n == 1 or text_width_pt(word[:n], size_pt, bold) <= width_pt)
    joint = max(word.rfind("_", 0, keep), word.rfind("-", 0, keep)) + 1
    keep = joint or keep
    return [word[:keep], *_pieces(word[keep:], width_pt, size_pt, bold)]
