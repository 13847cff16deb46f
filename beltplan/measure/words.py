"""The answers of a measured drive in words: what was found, what is wrong, what is open, what to measure next."""

from __future__ import annotations

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.route import PathFault
from beltplan.measure.advice import Undetermined
from beltplan.measure.gross_errors import GrossError, Slip, slip_of
from beltplan.measure.readings import Reading
from beltplan.measure.settling import Settling, settling_of
from beltplan.measure.study import Measuring, Trust
from beltplan.measure.values import (
    ellipse_of,
    length_words,
    listed,
    off_words,
    px_words,
    shape_mm,
    tape_words,
    value_words,
)

_MOST_UNDETERMINED = 4
_MOST_NAMED = 4
_MOSTLY_TURN = 0.6
"""Where the shape alone is so much surer than the places, the answer says so."""
Answers = tuple[tuple[str, str], ...]


def answers(found: Measuring, written: str | None = None) -> Answers:
    """The answers that stand at the top, each with its heading. written: the layout file that was written, if any.

    One MISREAD for each reading that was left out and one SUSPECT for each suspect, in the order of the study.
    """
    judged = found.judged
    rows = [("FOUND", _found_words(found)), ("CHECKED", _checked_words(found))]
    rows += [("MISREAD", _gross_error_words(found, each)) for each in judged.gross_errors]
    rows += [("DOUBT", _doubt_words(found))] if not judged.fits else []
    rows += [("SUSPECT", _suspect_words(found, each)) for each in judged.suspects]
    rows += [("LOOSE", _undetermined_words(each)) for each in found.undetermined[:_MOST_UNDETERMINED]]
    rows += [("LOOSE", _more_undetermined(found))] if len(found.undetermined) > _MOST_UNDETERMINED else []
    rows += [("MIRROR", _mirror_words(found))] if found.mirrors else []
    rows += [("CLASH", _clash_words(fault)) for fault in found.clashes]
    rows += [("SIDES", _unseen_words(found))] if found.unseen else []
    rows += [("PICTURE", _trust_words(found, trust)) for trust in found.images]
    rows += [("LEVEL", level_words(found))] if found.measured.frame_is_open else []
    rows += [("NEXT", _next_words(found))] if found.further else []
    but = "" if judged.fits else ", by readings that do not agree"
    return tuple(rows) if written is None else (*rows, ("WRITTEN", written + but))


def open_words(found: Measuring) -> list[str]:
    """What stands against writing a layout, and what settles it, a line each."""
    return [f"{lead}: {words}" for lead, words in answers(found) if lead in ("CLASH", "LOOSE", "MIRROR", "SIDES")]


def _found_words(found: Measuring) -> str:
    marks = found.measured.marks
    points = [centre for centre in found.centres if centre.name not in marks]
    held = [centre for centre in points if not centre.is_undetermined]
    words = f"all {len(held)} points" if len(held) == len(points) else f"{len(held)} of {len(points)} points"
    words += f" (and {len(marks)} mark{'s' if len(marks) > 1 else ''})" if marks else ""
    wide = [(ellipse.long_mm, centre.name) for centre in held if (ellipse := ellipse_of(centre)) is not None]
    most, name = max(wide, default=(0.0, ""))
    if most > 0.0:
        in_inches = found.measured.in_inches
        words += f", each to {length_words(most, in_inches)} or better (one standard deviation); least sure: {name}"
        shape = shape_mm(found)
        if shape < _MOSTLY_TURN * most:
            words += (
                f". Most of that is how level the whole stands, which belt and wraps do not mind; but for it, "
                f"{length_words(shape, in_inches)} or better"
            )
    return f"{words}. {_standing(found)}"


def _standing(found: Measuring) -> str:
    if found.sound:
        bare = [trust.image.name for trust in found.images if trust.trusted is None and not trust.image.given]
        unless = (
            f"; nothing checks {listed(bare)}: it holds if taken square on, with all faces in one plane" if bare else ""
        )
        return "Nothing stands against it" + (", but nothing checks it" if found.degrees < 1 else unless)
    against = ["what was misread"] if found.judged.gross_errors else []
    against += [] if found.judged.fits else ["readings that do not agree"]
    against += ["places over which no belt can run"] if found.clashes else []
    against += ["what is loose"] if found.undetermined else []
    against += ["a mirror image"] if found.mirrors else []
    against += ["where points are seen"] if found.unseen else []
    against += ["a picture"] if any(trust.trusted is False for trust in found.images) else []
    return f"Open: {listed(against, len(against))}"


def _checked_words(found: Measuring) -> str:
    """How many readings check the others, whether they agree, and which readings nothing checks."""
    n = found.degrees
    if n < 1:
        return "by nothing: no reading more than is needed, so none that is misread would show"
    words = "1 reading more than is needed" if n == 1 else f"{n} readings more than are needed"
    words += ", and all agree" if found.judged.fits else ", and they do not agree"
    bare = [
        each.reading.words
        for each in found.checked
        if each.shows is None and not each.left_out and not each.reading.is_of_rim
    ]
    return words + (f"; nothing checks {listed(bare, _MOST_NAMED)}" if bare else "")


def _read_words(found: Measuring, reading: Reading) -> str:
    value = value_words(reading, found.measured.in_inches)
    line = f"line {reading.line}"
    return f"{reading.words}, read {value} ({line})" if value else f"{reading.words} ({line})"


def _gross_error_words(found: Measuring, error: GrossError) -> str:
    words = f"{_read_words(found, error.reading)}: {_error_words(found, error)} by all the others"
    return f"{words}{_steps_words(found, error)}. Left out below; measure it again"


def _suspect_words(found: Measuring, error: GrossError) -> str:
    """A reading that may be the wrong one, and how wrong it would be."""
    return f"{_read_words(found, error.reading)}: {_error_words(found, error)}{_steps_words(found, error)}"


def _error_words(found: Measuring, error: GrossError) -> str:
    off = off_words(found, error.reading, error.error)
    if error.reading.unit == "px":
        return f"{off} off in the worse of its two coordinates"
    return f"{off} too {'much' if error.error > 0.0 else 'little'}"


def _steps_words(found: Measuring, error: GrossError) -> str:
    value, slip = error.reading.value, slip_of(found.measured, error)
    if slip is not None:
        return f"; {_slip_words(found, slip)}"
    if not error.steps or value is None:
        return ""
    size, right = abs(error.steps), value - error.steps * error.step
    if error.reading.unit == "deg":
        return f"; {size * error.step:g} deg misread would explain it"
    inch = error.step == MM_PER_INCH
    step = ("a whole inch" if size == 1 else f"{size} whole inches") if inch else f"{size * error.step:g} mm"
    return f"; {step} misread would explain it, {tape_words(right, found.measured.in_inches)} would fit"


def _slip_words(found: Measuring, slip: Slip) -> str:
    if slip.kind in ("read in mm", "read in inches"):
        size = f"{slip.fits:.5g} mm" if slip.kind == "read in mm" else f"{slip.fits / MM_PER_INCH:.5g} in"
        return f"it would fit if it was {slip.kind}: write {size}"
    if slip.kind in ("centres", "outside", "gap"):
        way = {"centres": "from centre to centre", "outside": "over both rims", "gap": "between the rims"}[slip.kind]
        told = "" if slip.kind == "centres" else f" and wants `{slip.kind}: true`"
        return f"it would fit if it was taken {way}{told}"
    words = {
        "plumb": "it counts from straight up (`from: plumb`)",
        "clockwise": "it was read clockwise",
        "reversed": "it was read from the second point to the first",
    }[slip.kind]
    return f"it would fit if {words}: {slip.fits:.5g} deg"


def _doubt_words(found: Measuring) -> str:
    words = "the readings do not agree, by more than chance makes of their accuracies"
    if found.judged.suspects:
        words += ", and the others cannot tell which is wrong. Measure these again, the first one first"
    else:
        words += ": more than one is wrong, or the accuracies are too good to be true"
    return f"{words}. Nothing is left out; every \N{PLUS-MINUS SIGN} below is enlarged {found.factor:.1f} times"


def _clash_words(fault: PathFault) -> str:
    return (
        f"{fault.got}; needed: {fault.allowed}. So they cannot stand: a reading is wrong, or a diameter. Measure what "
        f"holds {listed(fault.pulleys)} again"
    )


def _undetermined_words(point: Undetermined) -> str:
    words = f"{point.point}: nothing holds it yet; it needs {point.ties} more reading{'s' if point.ties > 1 else ''}"
    if not point.to:
        return f"{words}, as an angle or an offset"
    return f"{words}, from {listed(point.to, last='or')}"


def _more_undetermined(found: Measuring) -> str:
    return listed([undetermined.point for undetermined in found.undetermined[_MOST_UNDETERMINED:]], 6) + " as well"


def _mirror_words(found: Measuring) -> str:
    """Which points can lie elsewhere, and what settles it."""
    n = len(found.mirrors)
    moved = list(dict.fromkeys(name for mirror in found.mirrors for name in mirror.points))
    ways = "one other way" if n == 1 else f"{n} other ways"
    words = f"all that was read allows {ways} for {listed(moved, _MOST_NAMED)} to lie. "
    told = "; ".join(_settling_words(found, settling_of(found)))
    return words + told[:1].upper() + told[1:]


def _settling_words(found: Measuring, settling: Settling) -> list[str]:
    """What settles the mirror solutions, a clause each."""
    told, in_inches = [], found.measured.in_inches
    if settling.words:
        given = ", ".join(f"{name}: {' '.join(words)}" for name, words in settling.sides.items())
        told.append(
            f"Look from the front, and write where you see it from {found.measured.origin}: `sides: {{{given}}}` "
            "holds for what is told below; write the opposite word where you see the opposite"
        )
    for apart in settling.distances:
        here, there = (length_words(value, in_inches) for value in (apart.here, apart.there))
        told.append(f"measure {apart.first} - {apart.second}: {here} as told below, {there} if not")
    for apart in settling.angles:
        told.append(
            f"read the angle {apart.first} - {apart.second}: {apart.here:.0f} deg as told below, "
            f"{apart.there:.0f} deg if not"
        )
    if settling.quarters:
        points = [centre.name for centre in found.centres if centre.name != found.measured.origin]
        told.append(
            f"look from the front, and write in `sides` in which quarter you see two or more of {listed(points, 6)} "
            f"from {found.measured.origin}: above left, below right ..."
        )
    if settling.unsettled:
        told.append(f"{settling.unsettled} of them lie so near that no one reading tells them apart")
    return told


def _unseen_words(found: Measuring) -> str:
    names = listed(list(found.measured.sides), _MOST_NAMED)
    words = (
        f"no way for the points to lie agrees both with the readings and with `sides` ({names}); look again, facing "
    )
    words += "the pulleys, your left and right"
    if found.level is None:
        return f"{words}; or was an angle read from plumb, or clockwise?" if found.measured.directions else words
    return f"{words}, however the whole is turned, as nothing says what is level"


def _trust_words(found: Measuring, trust: Trust) -> str:
    name, off = trust.image.name, px_words(trust.rms_px, trust.image, trust.mm_per_px)
    stated = f"{trust.image.sd_px:g} {trust.image.unit}"
    if trust.image.given and not trust.trusted:
        if trust.trusted is None:
            return f"{name}: taken as given, nothing checks it; measure between two of its places"
        return f"{name}: off by {off}, with {stated} stated; measure it again, and pick its places again"
    if trust.trusted is not False and (blamed := _blamed_on(found, trust)):
        scale = "is its `mm_per_px` right, " if trust.image.model == "rigid" else ""
        return (
            f"{name}: in doubt with {listed(blamed, _MOST_NAMED)}; its other points cannot tell a wrong pick from a "
            f"wrong picture: {scale}was it taken square on, with the faces of the pulleys in one plane?"
        )
    if trust.trusted is None or trust.factor is None:
        return f"{name}: nothing checks it; measure a distance or two between its points more than are needed"
    if trust.trusted:
        how = "can be trusted" if found.judged.fits else "no worse than chance allows"
        return f"{name}: {how}; its points are off by {off}, with {stated} stated"
    return (
        f"{name}: not to be trusted as it stands; off by {off}, {trust.factor:.1f} times what {stated} allow. "
        "Pick its points again; was it taken square on and from afar, with the faces of the pulleys in one plane? "
        "One at a slant needs `slant: true`"
    )


def _blamed_on(found: Measuring, trust: Trust) -> list[str]:
    """Points of an image whose place on it was left out or is suspected."""
    readings = (each.reading for each in (*found.judged.gross_errors, *found.judged.suspects))
    return list(dict.fromkeys(reading.points[0] for reading in readings if reading.image is trust.image))


def level_words(found: Measuring) -> str:
    measured = found.measured
    if found.level is not None:
        line, turn = f"{found.level[0]} - {found.level[1]}", float(np.degrees(found.level_rad))
        laid = f"{line} is laid level" if not turn else f"{line} is laid at {turn:.0f} deg, amid what `sides` allow"
        return (
            f"nothing says what is level: {laid}. Belt lengths and wraps do not mind, an arm's angles do: give "
            "`level`, an angle or an offset"
        )
    if measured.level is not None:
        return f"{measured.level[0]} - {measured.level[1]} is level, as given"
    if measured.frame_is_open:
        return "nothing says what is level, and nothing is tied to the origin"
    return "as the angles and offsets say"


def _next_words(found: Measuring) -> str:
    best, in_inches = found.further[0], found.measured.in_inches
    about = f"{best.first} - {best.second}, about {length_words(best.about_mm, in_inches)}"
    now, then = (f"\N{PLUS-MINUS SIGN}{value:.2f}" for value in (best.before_mm, best.after_mm))
    return f"measure {about}: it takes how the points lie to each other from {now} to {then} mm, root mean square"
