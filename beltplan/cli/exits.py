"""What commands share: reading a file or refusing it (exit status 2), messages on standard error, pictures, options."""

from __future__ import annotations

import argparse
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from beltplan.drive.route import Route, route_of
from beltplan.drive.way_round import NoBeltPath, PathFault
from beltplan.faults import Fault, LayoutFaults, printable
from beltplan.layoutfile.layout_file import LayoutFile, read_every_layout, read_layout
from beltplan.report.screen import Paragraph, Report, in_units, screen_of
from beltplan.report.words import source_words

if TYPE_CHECKING:
    from beltplan.picture.scene import Scene

    Commands = argparse._SubParsersAction[argparse.ArgumentParser]
else:
    Commands = argparse._SubParsersAction


Answer = str | Report
"""What a command shows: JSON as it is, or a report that the screen lays out."""
PICTURE = (".png", ".svg", ".pdf")
_FILE: dict[str, Any] = {"metavar": "FILE"}
_FLAG: dict[str, Any] = {"action": "store_true"}
_OPTIONS: Mapping[str, tuple[str, dict[str, Any]]] = {
    "layout": ("the layout file (YAML){}", {"metavar": "LAYOUT"}),
    "json": ("print the result as one JSON object", _FLAG),
    "picture": ("draw {}; the ending: .png, .svg or .pdf", _FILE),
    "write": ("write {}", _FILE),
    "force": ("let {} take the place of an existing file", _FLAG),
    "variant": ("{} this variant of the file", {"metavar": "NAME"}),
    "full": ("tell all: {}", _FLAG),
    "units": ("tell lengths in mm or inches (default: as the file)", {"choices": ("mm", "in")}),
}
"""What several commands have, with what is told of it."""
_WRITTEN: Mapping[str, tuple[str, ...]] = {"--picture": PICTURE, "--write": ()}


def add_options(parser: argparse.ArgumentParser, *plain: str, **more: str) -> None:
    """Add them in the order given, with the files that they write. more: what the words of each lack."""
    told = dict.fromkeys(plain, "") | more
    for name, words in told.items():
        text, how = _OPTIONS[name]
        parser.add_argument(name if name == "layout" else f"--{name}", help=text.format(words), **how)
    own = parser.get_default("writes") or {}
    written = {option: ends for option, ends in _WRITTEN.items() if option in own or option[2:] in told}
    parser.set_defaults(writes=written | own)


def whole_number(least: int, most: int) -> Callable[[str], int]:
    """What reads an option's whole number in plain digits, for `add_argument(type=...)`."""

    def read(text: str) -> int:
        if text.isascii() and text.isdigit() and len(text) <= len(str(most)) and least <= int(text) <= most:
            return int(text)
        raise argparse.ArgumentTypeError(f"got {text!r}; allowed: a whole number {least} to {most}")

    return read


class Refused(Exception):
    """The command cannot be carried out; the text is for the user."""


def tell(text: str) -> None:
    """Write a message to standard error; nowhere, where that is closed. No name of a file brings codes with it.

    In a window long lines, as of all keys that are allowed, go on below; for another program a fault stays one line.
    """
    if sys.stderr is None:
        return
    lines = [printable(line) for line in text.split("\n")]
    if sys.stderr.isatty():
        width = screen_of(sys.stderr).width
        lines = [textwrap.fill(line, width, subsequent_indent="    ", break_on_hyphens=False) for line in lines]
    print("\n".join(lines), file=sys.stderr)


def without_picture(answer: Answer, option: str, reason: str) -> Answer:
    """An answer whose picture cannot be drawn: why stands on its last line, or beside JSON, which stays alone."""
    words = f"{option}: not drawn: {reason}"
    if isinstance(answer, str):
        tell(words)
        return answer
    return replace(answer, blocks=(*answer.blocks, "", Paragraph(words)))


@contextmanager
def writing(option: str, path: str) -> Iterator[None]:
    """While a file that an option names is written: raises Refused where it cannot be, or is there and must stay."""
    try:
        yield
    except FileExistsError:
        raise Refused(taken_words(option, path)) from None
    except OSError as error:
        words = f"{option}: got {path!r}, which cannot be written ({error.strerror or error})"
        raise Refused(f"{words}; allowed: a place that can be written") from None


def draw(option: str, path: str, scene: Scene, foot: str) -> None:
    """Write the picture that an option asks for; foot: what it was drawn from. Raises Refused where it cannot be."""
    from beltplan.picture.page import footed
    from beltplan.picture.painter import paint

    with writing(option, path):
        paint(footed(scene, foot), path)


def foot_of(file: LayoutFile) -> str:
    return source_words(file.path, variant=file.layout.variant)


def taken_words(option: str, path: str) -> str:
    force = ", or --force" if option != "FILE" else ""
    return f"{option}: got {path!r}, which exists already; allowed: a name that is not taken{force}"


def read_every_or_refuse(asked: Iterable[tuple[str, str | None]]) -> list[tuple[LayoutFile, ...]]:
    """Every layout of each file, the base first. asked: paths, each with a variant that must be there.

    Raises Refused with every fault of all the files.
    """
    files, faults = list[tuple[LayoutFile, ...]](), list[str]()
    for path, variant in asked:
        try:
            files.append(read_every_layout(path, variant))
        except LayoutFaults as found:
            faults.append(str(found))
    if faults:
        raise Refused("\n".join(faults))
    return files


def read_or_refuse(path: str, variant: str | None) -> LayoutFile:
    try:
        return read_layout(path, variant)
    except LayoutFaults as faults:
        raise Refused(str(faults)) from None


def route_or_refuse(file: LayoutFile, picture: str | None = None) -> Route:
    """The belt's route over a layout. Raises Refused, with the lines of the pulleys, where there is no belt path.

    picture: where the pulleys and what is wrong are drawn all the same.
    """
    try:
        return route_of(file.layout)
    except NoBeltPath as refusal:
        faults = tuple(sorted(refusal.faults, key=lambda fault: _fault(file, fault, "route", "").line))
        advice, asked = _advice(file, faults)
        if picture is not None:
            from beltplan.picture.unlaid import unlaid_scene  # matplotlib only where a picture is wanted

            draw("--picture", picture, unlaid_scene(file.layout, faults, _joined(advice, asked)), foot_of(file))
        raise no_path(file, faults, "route", advice, asked) from None


def mend_of(file: LayoutFile, faults: tuple[PathFault, ...]) -> str:
    """What would give a layout without a belt path one, as its refusal says it; empty where nothing that was tried."""
    return _joined(*_advice(file, faults)) if faults else ""


def _joined(advice: str, asked: Sequence[Fault]) -> str:
    return "; ".join(filter(None, [advice, *(fault.got for fault in asked)]))


def _advice(file: LayoutFile, faults: tuple[PathFault, ...]) -> tuple[str, list[Fault]]:
    """What mends them; else, what is asked of values that may be why."""
    from beltplan.checks.doubts import doubtful_file, shape_doubts
    from beltplan.checks.questions import mends_told

    layout = file.layout
    if (doubt := doubtful_file(layout)) is not None:
        return ": ".join(doubt), []
    off = [pulley.name for pulley in layout.unrouted if not pulley.optional]
    forgotten = f"{' and '.join(off)} not in `route`: forgotten?" if off else ""
    if told := mends_told(layout, faults, faults[0].pulleys, file.line_of):
        return told if not off or told.startswith("Is ") else f"{forgotten} {told}", []
    doubts = [
        Fault(file.line_of(*doubt.keys), ".".join(doubt.keys), in_units(doubt.message, layout.units))
        for doubt in shape_doubts(replace(layout, obstacles=()))
    ]
    return forgotten, doubts


def no_path(
    file: LayoutFile,
    faults: tuple[PathFault, ...],
    of_all: str = "route",
    advice: str = "",
    asked: Sequence[Fault] = (),
) -> Refused:
    """The refusal of a layout without a belt path, with the lines of the pulleys; of more than two that of `of_all`.

    advice: a sentence on what would mend it, in place of what is allowed. Several are numbered, as in a picture.
    asked: what may explain them all, told before them.
    """
    numbers = [f"({number}) " for number in range(1, len(faults) + 1)] if len(faults) > 1 else [""]
    told = [replace(fault, got=number + fault.got) for number, fault in zip(numbers, faults, strict=True)]
    # What mends all of them is told once.
    each = [_fault(file, fault, of_all, "" if number else advice) for number, fault in enumerate(told)]
    return Refused("\n".join(str(LayoutFaults(file.path, group)) for group in (asked, each) if group))


def _fault(file: LayoutFile, fault: PathFault, of_all: str, advice: str) -> Fault:
    got, allowed = (in_units(words, file.layout.units) for words in (fault.got, fault.allowed))
    words = f"{got}. {advice}" if advice else f"{got}; wanted: {allowed}"
    if len(fault.pulleys) > 2:
        return Fault(file.line_of(of_all), of_all, words)
    keys = ", ".join(f"pulleys.{name}" for name in fault.pulleys)
    return Fault(file.line_of("pulleys", fault.pulleys[0]), keys, words)
