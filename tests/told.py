"""What holds of every line that a report shows, whatever it tells: asked of all that any test shows (`conftest.py`)."""

import re
from collections.abc import Iterator

import yaml

from beltplan.faults import Fault
from beltplan.report.screen import Block, Columns, Paragraph, Table

_COUNTED = (
    "arm|belt|caution|change|circle|corner|cure|cylinder|distance|draw|duty|file|groove|hole|idler|image|layout|length|"
    "line|loop|mark|measurement|mirror|mode|note|obstacle|page|pair|piece|place|point|problem|pulley|question|reading|"
    "rib|route|sheet|span|speed|tape|tooth|variant|way|word"
)
_ONE_OF_MANY = re.compile(rf"(?<![\w.,/-])1 (?:{_COUNTED})s\b")
_MANY_OF_ONE = re.compile(rf"(?<![\w.,/-])(?:[2-9]|[1-9][\d,]*\d) (?:{_COUNTED})\b(?!-| \w+s\b)")
_NO_WORDS = re.compile(r"\b(?:nan|inf|True|False)\b|\bNone\b(?! [a-z])|(?<![\w.])-0(?:\.0+)?(?![\d.])")
_STOPS_TWICE = re.compile(r"[,;:] ?[,;:]|(?<!\.)\.\.(?!\.)")
_NUMBER = re.compile(r"[-+±]?\d[\d.,]*(?: ?(?:%|deg|mm|in|N))?")
_IN_PLACE_OF_NUMBERS = {"exact", "never", "not fixed", "slack", "stopped"}


def faults_of(block: Block) -> list[str]:
    """What is wrong with the words of a block: numbers and nouns disagree, a bracket is open, a column of words stands
    as numbers do, a stop stands twice.
    """
    texts = [*_texts(block)]
    found = [f"{what.pattern[:20]}: {text}" for text in texts for what in (_ONE_OF_MANY, _MANY_OF_ONE, _NO_WORDS,
             _STOPS_TWICE) if what.search(text)]  # fmt: skip
    found += [f"brackets: {text}" for text in texts if text.count("(") != text.count(")")]
    return [*found, *_columns(block)]


def _texts(block: Block) -> Iterator[str]:
    if isinstance(block, str | Paragraph):
        yield block if isinstance(block, str) else block.text
    elif isinstance(block, Columns):
        yield from (text for label, cells in block.rows for text in (label, *cells))
    else:
        yield from (cell for row in block.rows for cell in row if isinstance(cell, str))


def _columns(block: Block) -> Iterator[str]:
    """Columns of words that stand to the right, as numbers do, and of numbers that stand to the left."""
    for column, *cells in zip(block.columns, *block.rows, strict=True) if isinstance(block, Table) else ():
        known = [cell for cell in cells if cell is not None and cell not in _IN_PLACE_OF_NUMBERS]
        numbers = [isinstance(cell, float) or bool(_NUMBER.fullmatch(str(cell).strip())) for cell in known]
        digits = any(str(cell)[:1].isdigit() or str(cell)[:1] in "-+±" for cell in known)
        if known and (all(numbers) if column.left else not digits):
            yield f"column {column.head!r} stands to the {'left' if column.left else 'right'}: {known[:3]}"


_OFFERED = re.compile(r"\b[Ww]rite (?=[\[{])")


def unreadable_in(fault: Fault) -> list[str]:
    """What a fault offers to write, in braces or brackets, that YAML does not read, or that leaves a value empty."""
    texts = [text[found.end() :] for text in (fault.got, fault.allowed) for found in _OFFERED.finditer(text)]
    return [text for text in texts if not whole_in(text)]


def whole_in(text: str) -> str:
    """The value in brackets at the beginning of a text; empty where there is none, or a key or entry is left empty."""
    ends = [place for place, sign in enumerate(text, start=1) if sign in "]}"]
    for end in ends:
        try:
            return "" if None in _values(yaml.safe_load(text[:end])) else text[:end]
        except yaml.YAMLError:
            continue
    return ""


def _values(value: object) -> Iterator[object]:
    yield value
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    for each in inner:
        yield from _values(each)
