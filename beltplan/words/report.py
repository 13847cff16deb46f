"""What `words` shows: an overview, one word with all that is told of it, or the whole list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from beltplan.cli.exits import Refused
from beltplan.faults import did_you_mean, quoted
from beltplan.layoutfile.synonyms import word_meant
from beltplan.report.screen import Block, Footnotes, Paragraph, Report
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from beltplan.words.word_list import Entry, Group, found, groups, names_of

_ASK = (
    "beltplan words WORD   what one word means: a key, role, belt profile, limit, finding or term",
    "beltplan words KIND   all words of one kind below",
    "beltplan words --all  the whole list",
)


def overview() -> Report:
    shown = [Paragraph(", ".join(_short_names(group)), f"{group.name:13}") for group in groups()]
    blocks: list[Block] = [*_ASK, "", *shown]
    return _with_safety(blocks, SAFETY_IN_SHORT)


def _short_names(group: Group) -> Iterator[str]:
    tops = dict.fromkeys(entry.name.partition(".")[0] for entry in group.entries)
    return (f"{top}..." if any(entry.name.startswith(f"{top}.") for entry in group.entries) else top for top in tops)


def whole_list() -> Report:
    blocks: list[Block] = []
    for group in groups():
        note = f"  ({group.note})" if group.note else ""
        notes = Footnotes()
        told = [block for entry in group.entries for block in _told(entry, notes)]
        blocks += [Paragraph(f"{group.name.upper()}{note}", rest="  "), *told, *notes.legend(), ""]
    return _with_safety(blocks[:-1], SAFETY)


def _told(entry: Entry, notes: Footnotes, what: str = "") -> Iterator[Block]:
    yield f"  {entry.name}{what}"
    for text, source in (*entry.texts, *(entry.more if what else ())):
        yield Paragraph(f"{text} {notes.mark(source)}" if source else text, "      ", "        ")


def answer(word: str) -> Report:
    """All that is told of one word; raises Refused where there is no such word."""
    known = groups()
    meant = found(word, known)
    if not meant:
        names = [name for group in known for entry in group.entries for name in names_of(entry)]
        ends = (name.rpartition(".")[2] for name in names)
        near = did_you_mean(word, list(dict.fromkeys([*ends, *(group.name for group in known), *names])))
        hint = " (`beltplan words findings` lists all)" if word_meant(word, ("findings",)) else near
        raise Refused(f"there is no word {quoted(word)}{hint}; `beltplan words` shows which there are")
    notes = Footnotes()
    blocks = [block for group, entry in meant for block in (*_told(entry, notes, f"  ({group.one})"), "")]
    return _with_safety([*blocks[:-1], *notes.legend()], SAFETY_IN_SHORT)


def _with_safety(blocks: Sequence[Block], safety: str) -> Report:
    return Report((*blocks, "", Paragraph(safety, "SAFETY  ")))
