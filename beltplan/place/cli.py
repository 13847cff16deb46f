"""`beltplan place`: where may a pulley sit? A map of places, the best one, and the best for each belt."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from beltplan.cli.exits import PICTURE, Answer, Commands, Refused, add_options, draw, foot_of, read_or_refuse, writing
from beltplan.cli.outputs import refuse_to_overwrite
from beltplan.cli.progress import Bar
from beltplan.cli.rewrites import write_changed
from beltplan.cli.slips import names_asked
from beltplan.drive.belt import MM_PER_INCH, MM_PER_UNIT
from beltplan.faults import nearest
from beltplan.files import write_whole
from beltplan.layoutfile.values import NotALength, length_mm
from beltplan.report.answer import NOTHING_WRITTEN, Written

if TYPE_CHECKING:
    from beltplan.drive.layout import Layout, Units
    from beltplan.layoutfile.layout_file import LayoutFile
    from beltplan.place.advice import Advice, Proof
    from beltplan.place.pair import PairSearch, Search
    from beltplan.place.study import Box, PlaceMap

_ALIKE = 0.75
"""So like the name of a pulley on an adjuster is one that is meant by it (our own choice)."""
_NARROWEST_MM = 0.01
_FARTHEST_MM = 1e6
_FINEST_MM: Mapping[str, float] = {"mm": 0.01, "in": 0.001 * MM_PER_INCH}
"""A place is written to so much: nobody marks out finer, and what a file says is what its comment says."""
_UNIT_WORDS = {"mm": "mm", "in": "inches"}


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "place",
        help="map where a pulley may sit: every place of a grid judged, the best named",
        description="Move one fixed pulley over a grid and judge every place, or search the best places for two. "
        "Exit status: 0 some place has no problem, 1 each has at least one, 2 input error.",
        epilog="Example: beltplan place layouts/workboat.yaml --pulley alternator --picture place.png",
    )
    # Else a box that begins with a negative number would be taken for an option.
    parser._negative_number_matcher = re.compile(r"-\.?\d")
    add_options(parser, "layout")
    parser.add_argument(
        "--pulley", metavar="NAME", action="append", required=True, help="the pulley to move; twice for two at once"
    )
    parser.add_argument(
        "--within",
        metavar="X0,X1,Y0,Y1",
        help="the box to look in, in the file's unit or each with its own, as 230mm or 9in (default: the pulleys and "
        "150 mm round them)",
    )
    parser.add_argument(
        "--step",
        metavar="LENGTH",
        help="from one place to the next, in the file's unit or with its own, as 2mm (default: about 40,000 places)",
    )
    parser.add_argument(
        "--belt",
        choices=("stock", "any"),
        default="stock",
        help="the best belt for each place: of those in stock, or of any length, in steps of 1 mm (default: stock)",
    )
    add_options(parser, write="the layout with the best place as a new layout file", force="--write")
    parser.add_argument("--picture", metavar="FILE", help="draw the map under the routing: .png, .svg or .pdf")
    parser.add_argument(
        "--csv",
        metavar="FILE",
        help="write every place as a row of a table; gaps are told up to 3 times their limit",
    )
    add_options(parser, "json", variant="judge", full="the best place for each belt, the rule", units="")
    parser.set_defaults(writes={"--picture": PICTURE, "--csv": (".csv",), "--write": ()})


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Map the places of a pulley, or of two. Returns what to show, and 0 where some place has no problem, else 1.

    Raises Refused for options or a layout that make no sense.
    """
    from beltplan.drive.fit import with_any_length

    file = read_or_refuse(chosen.layout, chosen.variant)
    refuse_to_overwrite(chosen, file.drawings)
    box, step = _box(chosen.within, file.layout.units), _step(chosen.step, file.layout.units)
    file = file.told_in(chosen.units)
    every = file.layout.pulleys
    # One that an adjuster moves is never guessed at: that it cannot be placed is said at once.
    moving = {name for name, pulley in every.items() if pulley.adjuster is not None}
    moved = [text for text in chosen.pulley if nearest(text.lower(), every, _ALIKE) in moving]
    fixed = [text for text in chosen.pulley if text not in moved]
    known = tuple(name for name in every if name not in moving)
    chosen.pulley = [*moved, *(names_asked("--pulley", fixed, known) if fixed else ())]
    _refuse_bad_pulleys(file.layout, chosen.pulley)
    layout = with_any_length(file.layout) if chosen.belt == "any" else file.layout
    from beltplan.place.report import Extra, place_json, place_report

    found, advice = (_one if len(chosen.pulley) == 1 else _two)(layout, chosen, box, step)
    if chosen.picture is not None:
        _draw(file, chosen, found, advice)
    extra = Extra(chosen.belt, _written(file, chosen, advice.move))
    answer = place_json(found, advice, extra) if chosen.json else place_report(found, advice, chosen.full, extra)
    return answer, 0 if advice.best is not None else 1


def _one(layout: Layout, chosen: argparse.Namespace, box: Box | None, step: float | None) -> tuple[PlaceMap, Advice]:
    from beltplan.place.advice import advice_of
    from beltplan.place.study import MOST_PLACES, map_grid, place_map
    from beltplan.place.table import place_csv

    grid = map_grid(layout, chosen.pulley[0], box, step)
    if grid.count > MOST_PLACES:
        raise Refused(
            f"--step: got {chosen.step!r}, which makes {grid.count:,} places; allowed: at most {MOST_PLACES:,}"
        )
    with Bar("judging places") as bar:
        found = place_map(layout, chosen.pulley[0], grid, bar)
    with Bar("looking closer") as bar:
        advice = advice_of(found, bar)
    if chosen.csv is not None:
        with writing("--csv", chosen.csv):
            write_whole(chosen.csv, place_csv(found))
    return found, advice


def _two(layout: Layout, chosen: argparse.Namespace, box: Box | None, step: float | None) -> tuple[PairSearch, Advice]:
    from beltplan.place.pair import pair_search

    for option, value in (("--step", chosen.step), ("--csv", chosen.csv)):
        if value is not None:
            raise Refused(f"{option}: got {value!r} with two pulleys, whose places are drawn; allowed: with one pulley")
    first, second = chosen.pulley
    with Bar("judging pairs") as bar:
        found = pair_search(layout, (first, second), box, bar)
    return found, found.advice


def _written(file: LayoutFile, chosen: argparse.Namespace, best: Proof | None) -> Written:
    """The best place as a layout file, if one was asked for; with its belt, if that is of any length."""
    if chosen.write is None or best is None:
        return NOTHING_WRITTEN if chosen.write is None else Written(remark="no better place was found")
    from beltplan.judging.stages import moved

    finest_mm = _FINEST_MM[file.layout.units]
    at_mm = {
        name: (round(x / finest_mm) * finest_mm, round(y / finest_mm) * finest_mm)
        for name, (x, y) in zip(chosen.pulley, best.place.at_mm, strict=True)
        if (x, y) != file.layout.pulleys[name].at_mm
    }
    changes = [f"{name} moved to x {x:z.2f}, y {y:z.2f} mm" for name, (x, y) in at_mm.items()]
    after = moved(file.layout, [*at_mm], [*at_mm.values()])
    judged = best.plan.route.judged
    if chosen.belt == "any" and judged is not None:
        named = replace(file.layout.belt, length_mm=judged.belt.length_mm, length_kind=judged.belt.length_kind)
        after = replace(after, belt=named)
        changes.append(f"belt {judged.designation}, if it is sold")
    return write_changed(
        chosen.write, file, after, "Changed by `beltplan place`", changes, chosen.force, partial(_fault, best)
    )


def _fault(best: Proof, read: Layout) -> str | None:
    from beltplan.checks.plan import plan_of

    worse = plan_of(read).count("problem") > best.plan.count("problem")
    return "with its numbers rounded it has a problem" if worse else None


# Lengths of options: in the file's unit, or each with its own.


def _box(text: str | None, units: Units) -> Box | None:
    if text is None:
        return None
    bare = text.strip("()[]= ")
    parts = re.split(r"\s*[,;]\s*", bare) if re.search("[,;]", bare) else bare.split()
    numbers = [length for part in parts if (length := _length_mm(part, units)) is not None]
    if len(numbers) != 4 or len(parts) != 4:
        raise Refused(
            f"--within: got {text!r}; allowed: four lengths x0,x1,y0,y1 in {_UNIT_WORDS[units]}, or each with its "
            "unit, as 9in,230.5mm,4in,8in"
        )
    if (unit := parts[3].lstrip("+-.0123456789")) and not re.search("[^-+.0-9]", "".join(parts[:3])):
        each = ",".join(part.removesuffix(unit) + unit.strip() for part in parts)
        raise Refused(f"--within: got {text!r}, a unit at the last alone; allowed: one at each, as {each}, or none")
    x0, x1, y0, y1 = numbers
    if max(map(abs, numbers)) > _FARTHEST_MM or min(x1 - x0, y1 - y0) < _NARROWEST_MM:
        words = f"each `to` at least {_NARROWEST_MM:g} mm more, none over {_FARTHEST_MM:g} mm"
        raise Refused(f"--within: got {text!r}; allowed: x from, x to, y from, y to, {words}")
    return (x0, y0), (x1, y1)


def _step(text: str | None, units: Units) -> float | None:
    length = None if text is None else _length_mm(text, units)
    if text is not None and (length is None or not _NARROWEST_MM <= length <= _FARTHEST_MM):
        hint = f" (write {text.replace(',', '.')})" if re.search(r"\d,\d", text) else ""
        words = f"a length of {_NARROWEST_MM:g} mm or more in {_UNIT_WORDS[units]}, or with its unit, as 5mm"
        raise Refused(f"--step: got {text!r}{hint}; allowed: {words}")
    return length


def _length_mm(text: str, units: Units) -> float | None:
    try:
        return length_mm(text, MM_PER_UNIT[units])
    except NotALength:
        return None


def _refuse_bad_pulleys(layout: Layout, names: list[str]) -> None:
    fixed = [pulley.name for pulley in layout.routed if pulley.adjuster is None]
    faults = [words for name in dict.fromkeys(names) if (words := _pulley_fault(layout, name, fixed)) is not None]
    if len(names) > 2 or len(set(names)) < len(names):
        faults.append(f"--pulley: got {', '.join(names)}; allowed: one pulley, or two different ones")
    if faults:
        raise Refused("\n".join(faults))


def _pulley_fault(layout: Layout, name: str, fixed: list[str]) -> str | None:
    allowed = f"allowed: one of {', '.join(fixed)}"
    # As it was typed: one that an adjuster moves.
    if name not in layout.pulleys or layout.pulleys[name].adjuster is not None:
        other = "try others as `variants` with `compare`"
        return f"--pulley: got {name!r}, whose place follows from its arm or slide: {other}; {allowed}"
    return None if name in layout.route else f"--pulley: got {name!r}, which is not on the belt's route; {allowed}"


def _draw(file: LayoutFile, chosen: argparse.Namespace, found: Search, advice: Advice) -> None:
    from beltplan.place.picture import Shown, place_scene
    from beltplan.place.report import place_answers
    from beltplan.report.answer import picture_words, title_words

    here = advice.now or advice.move
    if here is None:
        allowed = "allowed: a layout with one"
        raise Refused(f"--picture: got {chosen.picture!r}, but no place has a belt path to draw; {allowed}")
    words = [title_words(found.layout), *picture_words(place_answers(found, advice), found.layout.units)]
    draw("--picture", chosen.picture, place_scene(Shown(found, here.plan, words, advice.move)), foot_of(file))
