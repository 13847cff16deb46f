"""What is wrong in a file: where it stands, what was got, what is allowed. Faults are collected, all in one run."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import takewhile

_LONGEST_QUOTE = 40
_NEAR = 0.6
"""How like a word that is meant is to the one written, 1 the same."""
_LONG_LIST = 100
"""What is allowed is told once where it is longer."""
MOST_TOLD = 40
"""Faults of one file that are printed; further ones are counted."""


@dataclass(frozen=True, order=True)
class Fault:
    """One fault of a layout file: its line (from 1), the key with the keys above it, what stood there, what may.

    allowed: empty where `got` says all, in a sentence. line: 0 where the file itself is the fault.
    astray: whether a key does not belong where it stands, and no spelling explains it; None where it is of no such key.
    """

    line: int
    key: str
    got: str
    allowed: str = ""
    astray: bool | None = field(default=None, compare=False)

    def text(self, path: str) -> str:
        """The fault in one line, as `FILE:LINE: KEY: got ...; allowed: ...`, or `... is missing; wanted: ...`."""
        key = "" if self.key == "file" and not self.allowed else f"{self.key}: "
        got = "is missing; wanted" if self.got == "nothing" else f"got {self.got}; allowed"
        words = f"{got}: {self.allowed}" if self.allowed else self.got
        return printable(f"{path}:{self.line}: {key}{words}" if self.line else words)


class LayoutFaults(Exception):
    """A layout file that cannot be understood, with every fault that was found, by line."""

    def __init__(self, path: str, faults: Iterable[Fault]) -> None:
        self.path = path
        self.faults: tuple[Fault, ...] = tuple(sorted(dict.fromkeys(faults), key=lambda fault: fault.line))
        super().__init__(path, self.faults)

    def __str__(self) -> str:
        first = {fault.allowed: fault for fault in reversed(self.faults) if len(fault.allowed) > _LONG_LIST}
        short = []
        for fault in self.faults:
            key = first.get(fault.allowed, fault).key
            short.append(fault if key == fault.key else replace(fault, allowed=f"the same as for {key}"))
        told = list(dict.fromkeys(fault.text(self.path) for fault in short))
        more = [f"{printable(self.path)}: {len(told) - MOST_TOLD} more, not shown"] if len(told) > MOST_TOLD else []
        return "\n".join([*told[:MOST_TOLD], *more])


@dataclass(frozen=True, eq=False)
class FaultList:
    """The faults found so far."""

    found: list[Fault] = field(default_factory=list)

    def add(self, line: int, path: tuple[str, ...], got: str, allowed: str = "", astray: bool | None = None) -> None:
        """Note one fault at the key whose names from the top of the file are `path`."""
        self.found.append(Fault(line, printable(".".join(path)), got, allowed, astray))


def quoted(text: str) -> str:
    """A text of the file fit for a message: in quotes, shortened, with no control characters; a backslash as typed."""
    shown = text if len(text) <= _LONGEST_QUOTE else text[: _LONGEST_QUOTE - 3] + "..."
    return repr(shown).replace("\\\\", "\\")


def printable(text: str) -> str:
    """The same text with every unprintable character spelled out, so that one fault stays one line."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def did_you_mean(word: str, words: Iterable[str], lead: str = "") -> str:
    """A hint at the nearest allowed word, or nothing. lead: what begins all of them, and makes none alike.

    >>> did_you_mean("diamter", ["diameter", "at"]), did_you_mean("--ful", ["--full", "--out"], "--")
    (' (did you mean diameter?)', ' (did you mean --full?)')
    """
    near = nearest(word.removeprefix(lead), (each.removeprefix(lead) for each in words))
    return f" (did you mean {lead}{near}?)" if near else ""


def nearest(word: str, words: Iterable[str], least: float = _NEAR) -> str | None:
    """The allowed word that a misspelt one is nearest to, if it is near any; least: as in `nearest_few`."""
    return next(iter(nearest_few(word, words, least)), None)


def nearest_few(word: str, words: Iterable[str], least: float = _NEAR) -> tuple[str, ...]:
    """The few allowed words that a misspelt one is near to, the nearest first; its parts may stand in another order.

    least: how like they must be, 1 the same.

    >>> nearest_few("diamter_rim", ["diameter", "rim_diameter"])
    ('rim_diameter', 'diameter')
    """
    return _near(word[:_LONGEST_QUOTE], tuple(words), least)


@lru_cache(maxsize=4096)
def _near(word: str, words: tuple[str, ...], least: float) -> tuple[str, ...]:
    from difflib import get_close_matches  # rarely needed, so not loaded at start

    parted = ((each, each.split("_")) for each in words)
    turned = {"_".join((*parts[i:], *parts[:i])): each for each, parts in parted for i in range(len(parts))}
    spelt = {said.casefold(): each for said, each in (turned | {each: each for each in words}).items()}
    near = (spelt[each] for each in get_close_matches(word.casefold(), spelt, n=4, cutoff=least))
    return tuple(dict.fromkeys(takewhile(lambda each: not _is_another(word.casefold(), each.casefold()), near)))


def _is_another(word: str, near: str) -> bool:
    """Whether of two parts one is the same and the other another word, which alone is near to nothing: fuel_pump is no
    water_pump.
    """
    own, other = ({*text.split("_")} for text in (word, near))
    left, meant = sorted(own - other), sorted(other - own)
    if not len(own) == len(other) == 2 or len(left) != 1:
        return False
    return not (meant[0].startswith(left[0]) or _near(left[0], (meant[0],), _NEAR))
