"""The files that a command writes: never in the place of one that it reads, or of one another."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable, Iterator

from beltplan.cli.exits import PICTURE, Refused, read_or_refuse, taken_words
from beltplan.cli.slips import LAYOUTS, in_quotes
from beltplan.faults import nearest
from beltplan.files import is_protected
from beltplan.layoutfile.document import bytes_of
from beltplan.layoutfile.layout_file import LayoutFile

_READ = {"layout": "the layout's own", "layouts": "a layout's own", "measurements": "the measurements' own"}
"""Arguments that name files to be read, and whose each file is."""
_KEPT = ("FILE", "--write", "--save", "--out")
"""Layouts, measurements and drawings; of `--out` where the command has --force."""
_NO_LAYOUTS = (*PICTURE, ".csv", ".dxf", ".html")
"""Endings that say that something else than a layout is meant."""
_DRAWING = "the drawing of an obstacle in this layout"


def refuse_bad_options(chosen: argparse.Namespace, wrong: Iterable[str] = ()) -> None:
    """Before any work: whether each file can be written. Raises Refused with all that stands against them.

    wrong: what is known to be wrong with other options.

    A command's parser declares in `writes` its options with the endings that each may have, none for any; in `faults`,
    where it has such, what tells the faults of its other options. What is edited on, `_KEPT`, is overwritten only with
    --force; pictures, prints, pages and tables are made anew.
    """
    clashes = [*_clashes(chosen, ())]
    faults, taken = [*wrong, *(words for _, words in clashes)], {option for option, _ in clashes}
    for option, endings in chosen.writes.items():
        path = _path(chosen, option)
        wanted = endings or LAYOUTS * (path or "").lower().endswith(_NO_LAYOUTS)
        # A file that the command reads stays with --force as well.
        stays = option in _KEPT and option not in taken and not getattr(chosen, "force", option == "--out")
        if path is not None and (words := _fault(option, path, wanted, stays)):
            meant = [other for other, own in chosen.writes.items() if not endings and path.lower().endswith(own)]
            faults.append(words + "".join(f", or {other} {in_quotes(path)}" for other in meant[:1]))
    faults += getattr(chosen, "faults", lambda chosen: ())(chosen)
    kept = next((option for option in chosen.writes if option in _KEPT), "")
    if getattr(chosen, "force", False) and _path(chosen, kept) is None:
        faults.append(f"--force: got no {kept} beside it; allowed: with {kept} FILE")
    if faults:
        # Told beside the others at once; alone, the reader tells it with all else of the file.
        read = (each for name in _READ for each in _listed(getattr(chosen, name, None)) if not os.path.exists(each))
        faults += (why for each in read if isinstance(why := bytes_of(each, 0), str))
    _refuse(faults)


def layout_asked(chosen: argparse.Namespace) -> LayoutFile:
    """The layout that a command is asked about, told in the units asked for.

    Raises Refused for its faults, and where what the command writes would take the place of what the layout reads.
    """
    file = read_or_refuse(chosen.layout, chosen.variant).told_in(chosen.units)
    refuse_to_overwrite(chosen, file.drawings)
    return file


def refuse_to_overwrite(chosen: argparse.Namespace, drawings: Iterable[str]) -> None:
    """Once it is known which drawings a layout reads: raises Refused where one would be overwritten."""
    _refuse(words for _, words in _clashes(chosen, drawings))


def _refuse(faults: Iterable[str]) -> None:
    if told := "\n".join(dict.fromkeys(faults)):
        raise Refused(told)


def _path(chosen: argparse.Namespace, option: str) -> str | None:
    found: str | None = getattr(chosen, option.lstrip("-").replace("-", "_").lower())
    return found


def _clashes(chosen: argparse.Namespace, drawings: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Options whose file is one that is read, or another's, each with its fault."""
    others = [(words, path) for name, words in _READ.items() for path in _listed(getattr(chosen, name, None))]
    others += [(_DRAWING, path) for path in drawings]
    for option in chosen.writes:
        path = _path(chosen, option)
        if path is None:
            continue
        for words, other in others:
            if _are_same(path, other):
                yield option, f"{option}: got {path!r}; allowed: another file than {words}"
        others.append((f"that of {option}", path))


def _listed(paths: object) -> list[str]:
    return [paths] if isinstance(paths, str) else paths if isinstance(paths, list) else []


def _are_same(one: str, other: str) -> bool:
    """Whether two paths are one file, by whatever spelling or link; of names not there yet, in whatever case."""
    if "\0" in one + other:
        return False
    if os.path.exists(one) and os.path.exists(other):
        return os.path.samefile(one, other)
    return os.path.realpath(one).casefold() == os.path.realpath(other).casefold()


def _fault(option: str, path: str, endings: tuple[str, ...], stays: bool) -> str | None:
    if endings and os.path.splitext(path)[1].lower() not in endings:
        listed = " or ".join(part for part in (", ".join(endings[:-1]), endings[-1]) if part)
        stem, ending = os.path.splitext(path)
        near = nearest(ending.lower(), endings) or endings[0]
        words, allowed = "", f"a file name ending in {listed}" + f", as {stem}{near}" * bool(os.path.basename(stem))
    elif not path or "\0" in path:
        words, allowed = "", "the name of a file to be written"
    elif os.path.exists(path) and not os.path.isfile(path):
        words = ", a folder" if os.path.isdir(path) else ", which is no ordinary file"
        allowed = "the name of a file to be written"
    elif stays and os.path.lexists(path):
        return taken_words(option, path)
    elif not os.path.isdir(os.path.dirname(os.path.realpath(path))):
        words, allowed = "", "a place in a folder that exists"
    elif is_protected(path):
        words, allowed = ", which is write-protected", "a file that may be written over, or another name"
    else:
        return None
    return f"{option}: got {path!r}{words}; allowed: {allowed}"
