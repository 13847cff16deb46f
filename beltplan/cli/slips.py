"""Slips of a command line: what was meant by a command, an option or a word that there is not, and what to type."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import accumulate, chain

from beltplan.cli.exits import Refused
from beltplan.faults import FaultList, did_you_mean, quoted
from beltplan.layoutfile.document import read_text
from beltplan.layoutfile.keys import USERS, Key
from beltplan.layoutfile.schema import KEYS, beside
from beltplan.layoutfile.synonyms import in_letters, letters_of, meant_by, word_meant, words_meant

Parsers = Mapping[str, argparse.ArgumentParser]
LAYOUTS = (".yaml", ".yml")
"""Endings of a layout."""
_HYPHENS = "-/\u2013\u2014"
_HELP = ("help", "?")
_ALONE = "belongs to no option: a value of several parts has commas and no blanks (1,2,3), or quotation marks round it"
_MOST_ELSEWHERE = 3
"""An option of more commands than that is no hint at one of them."""


def refuse_unknown(words: Sequence[str], own: argparse.ArgumentParser | None, every: Callable[[], Parsers]) -> None:
    """Refuse a command that there is not, and all options that its command does not have, each with what was meant.

    own: the parser of the command, None where there is no such. every: those of all commands.
    """
    if own is None:
        _refuse_command(words, tuple(every()))
        return
    known = sorted(option for option in own._option_string_actions if option[:2] == "--")
    given = [word.partition("=")[0] for word in words[1 : words.index("--") if "--" in words else None]]
    options = [word for word in given if re.match("--|-[a-zA-Z]", word) and word != "-h"]
    unknown = [word for word in options if not any(option.startswith(word) for option in known)]
    if unknown:
        parsers = every()
        hints = (f"{quoted(word)[1:-1]}{_option_meant(word, known, parsers, words)}" for word in unknown)
        told = (f"{words[0]} has no option {hint}" for hint in hints)
        raise Refused("\n".join([*told, f"it has {', '.join(known)}; `beltplan {words[0]} --help` tells of each"]))


def _refuse_command(words: Sequence[str], commands: tuple[str, ...]) -> None:
    said, bare = words[0], [word.lstrip(_HYPHENS).casefold() for word in words]
    if any(option.startswith(said) for option in ("-h", "--help", "--version")):
        return
    command = next((word for word in bare if word in commands), None)
    meant = " or ".join(f"`beltplan {each}`" for each in words_meant(said, commands))
    hint = f" (that is {meant})" if meant else did_you_mean(said, commands)
    if command:
        place = bare.index(command)
        others = [word for word in (*words[:place], *words[place + 1 :]) if word != "beltplan"]
        behind = ["--help" if word.lstrip(_HYPHENS) in _HELP else in_quotes(word) for word in others]
        hint = f" (write `beltplan {' '.join([command, *behind])}`)"
    elif said.endswith(LAYOUTS):
        hint = f" (`beltplan check {said}`?)"
    raise Refused(f"there is no command {quoted(said)}{hint}; `beltplan --help` lists all")


def _option_meant(said: str, known: Sequence[str], every: Parsers, words: Sequence[str]) -> str:
    name, names = said.lstrip("-"), tuple(option[2:] for option in known)
    if "units" in names and (unit := word_meant(name, ("mm", "in"))):
        return f" (write --units {unit})"
    begun = [each for each in names if f"{each}s" == name.lower() or (len(name) == 1 and each.startswith(name.lower()))]
    if meant := words_meant(name, names) or begun:
        return f" (did you mean {' or '.join(f'--{each}' for each in meant)}?)"
    elsewhere = [command for command, parser in every.items() if said in parser._option_string_actions]
    keys = _keys_meant(name)
    if 0 < len(elsewhere) <= _MOST_ELSEWHERE and name not in [key.name for key in keys]:
        return f" (it is one of {' and '.join(f'`beltplan {command}`' for command in elsewhere)})"
    return _as_key(keys, words) if keys else did_you_mean(said, known, "--")


def _keys_meant(said: str) -> list[Key]:
    """The keys of the file, all of one name, whose first words are given as an option, or what people call them."""
    letters = letters_of(said)
    every = [key for key in KEYS if (key.unit or not key.parent) and key.name not in USERS]
    if at_top := [key for key in every if key.path == letters]:
        return at_top
    begun = {key.name for key in every if letters in accumulate(key.name.split("_"))}
    names = begun or {*words_meant(said, tuple({key.name for key in every}))}
    return [key for key in every if key.name in names] if len(names) == 1 else []


def _as_key(keys: Sequence[Key], words: Sequence[str]) -> str:
    """words: of the command line, which may name a file that has the key already."""
    for path in filter(os.path.isfile, words[1:]):
        before, found, _ = f"\n{read_text(path, FaultList())}".partition(f"\n{keys[0].path}:")
        if found:
            return f" (a key of the file: change line {before.count(chr(10)) + 1} there)"
    own = [*chain.from_iterable(beside(keys[0].parent, keys[0].name))]
    under = dict.fromkeys(key.parent for key in keys if key.parent)
    where = f" beside `{'` or `'.join(own)}`" if own else f" under `{'` or `'.join(under)}`" * bool(under)
    what = "[...]" if keys[0].kind == "list" else "..."
    return f" (a key of the file: write `{keys[0].name}: {what}`{where} there)"


def left_over(
    words: Sequence[str], left: Sequence[str], own: argparse.ArgumentParser, chosen: argparse.Namespace
) -> str:
    """What to say of words of a command line that belong to nothing: where they stand, and what to type."""
    alone, first = " ".join(left), left[0]
    if why := getattr(chosen, "unneeded", {}).get(alone.lower()):
        return f"{quoted(alone)} {why}"
    return f"{quoted(alone)} {_meant(words, list(left), own, chosen) or _ALONE}" if first else _ALONE


def _meant(words: Sequence[str], left: list[str], own: argparse.ArgumentParser, chosen: argparse.Namespace) -> str:
    options = own._option_string_actions
    bare = [word.lstrip(_HYPHENS).casefold() for word in left]
    option = next((f"--{word}" for word in bare[: 1 + (left[0] == "--")] if f"--{word}" in options), "")
    if option:
        behind = left[left.index(next(word for word in left if word.lstrip(_HYPHENS))) + 1 :]
        return f"is no option as it stands: write {' '.join([option, *map(in_quotes, behind)])}"
    place = len(words) - 1 - words[::-1].index(left[0])
    before = words[place - 1]
    if os.path.isfile(left[0]) and before != "=":
        several = "; `beltplan compare` takes several" if hasattr(chosen, "layout") else ""
        return f"is one file too many: `beltplan {words[0]}` takes one{several}"
    if left == [before]:
        return "stands there twice: once is enough"
    if before == "=":
        return f"has blanks round `=`: write {words[place - 2]}={in_quotes(left[0])}"
    if words[place - 2] in options and options[words[place - 2]].nargs is None:
        return f"stands apart from {before!r}: write {words[place - 2]} {in_quotes(' '.join([before, *left]))}"
    if before[:1] != "-" and not os.path.splitext(before)[1] and os.path.splitext(left[-1])[1]:
        return f"stands apart from {before!r}: write {in_quotes(' '.join([before, *left]))}"
    return _option_of(left, options, chosen)


def _option_of(left: Sequence[str], options: Iterable[str], chosen: argparse.Namespace) -> str:
    """The option that a word alone is a value of, as its ending or the word itself tells."""
    if "--units" in options and (unit := word_meant(left[0], ("mm", "in"))):
        return f"needs its option: write --units {unit}"
    ending = os.path.splitext(left[-1])[1].lower()
    fits = [option for option, endings in chosen.writes.items() if ending and ending in (endings or LAYOUTS)]
    if fits and fits[0] != "FILE":
        return f"needs its option: write {fits[0]} {in_quotes(' '.join(left))}"
    return ""


def in_quotes(word: str) -> str:
    """A word as it is typed: in quotation marks where it has blanks."""
    return f'"{word}"' if " " in word else word


def example(own: argparse.ArgumentParser, message: str) -> str:
    """What stands against a command line that lacks something, in plain words, with how it is typed."""
    message = re.sub(r"^argument (\S+): expected .*", r"\1: nothing stands behind it", message)
    message = re.sub(r"^argument (\S+): ignored explicit argument (.*)", r"\1: got \2, but takes no value", message)
    return f"{message}\n{own.epilog or ''}".rstrip()


def names_asked(option: str, texts: Iterable[str], known: Sequence[str]) -> tuple[str, ...]:
    """The names that an option lists, with commas or whatever else stands between them.

    Raises Refused with every one that is not known: what was got, what was meant and all that are allowed.
    """
    names = [name for text in texts for part in text.split(",") if part.strip() for name in _parted(part, known)]
    wrong = [name for name in dict.fromkeys(names) if name not in known]
    if wrong or not names:
        words = (f"{option}: got {quoted(name)}{meant_by(name, tuple(known))}" for name in wrong or ("",))
        raise Refused("\n".join(f"{each}; allowed: {', '.join(known)}" for each in words))
    return tuple(names)


def _parted(part: str, known: Sequence[str]) -> list[str]:
    whole = part.strip().rstrip("*:")
    parts = [_known(each, known) for each in re.split(r"[\s;>+/]+(?:and\s+)?", whole) if each.rstrip("*")]
    own = _known(whole, known)
    return parts if own not in known and len(parts) > 1 and any(each in known for each in parts) else [own]


def _known(said: str, known: Sequence[str]) -> str:
    """The known name that one is but for capitals, hyphens and blanks; else itself."""
    alike = in_letters(said.rstrip("*"), known)
    return said if said in known or len(alike) != 1 else alike[0]
