"""The answers of a measured drive in words: what was found, what is wrong, what is open, what to measure next.

Lengths stand in mm, as everywhere in a report; what a tape reads stands in the tape's own unit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from beltplan.measure.advice import Further, Undetermined, by_offsets, only_marks_feel
from beltplan.measure.gross_errors import GrossError
from beltplan.measure.images import PARAMETERS
from beltplan.measure.misreadings import WOULD
from beltplan.measure.readings import RIMS, Distance, LoopLength, Offset, Reading
from beltplan.measure.solutions import CHECKED
from beltplan.measure.study import Measuring, Trust
from beltplan.measure.values import as_read, listed, px_words, value_words
from beltplan.report.answer import Answers
from beltplan.report.screen import length_text

_MOST_TOLD = 4
_TAPE_SETTLES = "Measure {0.first} - {0.second}: {0.here:.1f} mm at the positions found, {0.there:.1f} mm if mirrored"
_ANGLE_SETTLES = (
    "Read the angle {0.first} - {0.second}: {0.here:.0f} deg at the positions found, {0.there:.0f} deg if mirrored"
)
"""What tells mirror solutions apart."""
_UNROUTED = "`route` leaves out {}: was that forgotten? There the belt is only kept clear"


def answers(found: Measuring, written: str | None = None) -> Answers:
    """The answers that stand at the top, each with its heading. written: the layout file that was written, if any.

    One MISREAD for each reading that was left out, unless CAUSE says it all, and one SUSPECT for each suspect, in the
    order of the study.
    """
    errors, unrouted = found.errors, found.measured.unrouted
    misread = errors.gross_errors if errors.cause is None or any(each.causes for each in errors.gross_errors) else ()
    instead = "; it may be this one instead" if errors.gross_errors else ""
    clashes = [each.got + f"; needed: {each.allowed}" * bool(each.allowed) for each in found.clashes]
    pictures = [trust for trust in found.images if trust.image.has_say and not _always_fits(trust)]
    but = "" if errors.fits else ", by readings that contradict each other"
    rows = [
        ("CLASH", [f"no belt can run there: {each}" for each in clashes]),
        ("", [found.mending] if found.mending else []),
        ("SIDES" if errors.cause and errors.cause.sides else "CAUSE", [errors.cause.words] if errors.cause else []),
        ("MISREAD", [f"{_error_words(found, each)}. It is left out" for each in misread]),
        ("CONFLICT", [_conflict_words(found)] if errors.undecided else []),
        ("SUSPECT", [_error_words(found, each) + instead for each in errors.suspects]),
        ("OPEN", _open_words(found)),
        ("OPEN", [_level_open_words(found)] if found.level_is_open else []),
        # What is left out for a cause may be what tells the mirror solution: first the one, then the other.
        ("MIRROR", [_mirror_words(found)] if found.mirrors and not (found.unseen or errors.cause) else []),
        ("SIDES", [_unseen_words(found)] if found.unseen and not errors.cause else []),
        ("ROUTE", [_UNROUTED.format(listed(unrouted))] if unrouted else []),
    ]
    held = [lead for lead, told in rows if lead and told]
    rows = [
        ("FOUND", [". ".join(filter(None, (_found_words(found), _standing_words(found, held))))]),
        *rows,
        *zip(("NEXT", *[""] * _MOST_TOLD), ([words] for words in _next_words(found)), strict=False),
        ("CHECKED", [_checked_words(found)]),
        ("SPRING", [*found.springs]),
        ("ARM", [f"{each}. Look whether it does: its stops are as written" for each in found.arms_stand]),
        ("PICTURE", [_trust_words(found, trust) for trust in pictures]),
        ("LEVEL", [level_words(found)] if found.measured.frame_is_open and not found.level_is_open else []),
        ("WRITTEN", [] if written is None else [written + but]),
    ]
    return tuple((lead, words) for lead, told in rows for words in told)


# What was found, and whether the readings agree.


def _found_words(found: Measuring) -> str:
    known = {name for trust in found.images if trust.image.given for name in trust.image.places}
    # What is known of a picture, as the ends of a scale bar, is there to lay the picture only.
    fixed = [centre for centre in found.centres if not centre.is_undetermined]
    marks = [max(centre.sds_mm) for centre in fixed if centre.mark and centre.name not in known]
    held, points = sum(not centre.mark for centre in fixed), sum(not centre.mark for centre in found.centres)
    words = f"{'all' if held == points else f'{held} of'} {points} points"
    most, name = _least_sure(found)
    looser = f", to {max(marks):.1f} mm" if marks and round(max(marks), 1) > round(most, 1) > 0.0 else ""
    words += f" (and {len(marks)} mark{'s' if len(marks) > 1 else ''}{looser})" if marks else ""
    if found.unseen and not (found.errors.cause and found.errors.cause.sides):
        words += ", but do not use these places yet: they do not lie where `sides` says"
    elif most > 0.0:
        if found.measured.needs_level:
            return f"{words}, between pulleys {found.shape_mm:.1f} mm or better"
        between = f", {found.shape_mm:.1f} mm between pulleys" if is_tilted(found) else ""
        words += f", each to {most:.1f} mm or better{between} (one standard deviation); least sure: {name}"
    return words


def _least_sure(found: Measuring) -> tuple[float, str]:
    fixed = (centre for centre in found.centres if not (centre.mark or centre.is_undetermined))
    return max(((max(centre.sds_mm), centre.name) for centre in fixed), default=(0.0, ""))


def is_tilted(found: Measuring) -> bool:
    """Whether the points are surer to each other than with the tilt of the whole, by what is told of either."""
    return round(found.shape_mm, 1) < round(_least_sure(found)[0], 1)


def _standing_words(found: Measuring, held: Sequence[str]) -> str:
    """Whether anything stands against the places. held: headings of what does, or is to be seen beside them."""
    doubtful = ["PICTURE"] if any(trust.trusted is False for trust in found.images) else []
    see = listed([*dict.fromkeys((*held, *doubtful))], 9)
    if found.sound:
        told = [_sound_words(found) + (f"; but see {see}" if found.measured.unrouted else "")]
    else:
        told = [f"Still open: see {see}"] if see else []
    return ". ".join(filter(None, [*told, _hanging_words(found)]))


def _sound_words(found: Measuring) -> str:
    if found.degrees < 1:
        return "Nothing stands against it, but nothing checks it"
    bare = [trust.image.name for trust in found.images if trust.trusted is None and not trust.image.given]
    unless = f"; nothing checks {listed(bare)}: it holds if taken square on, with all faces in one plane"
    return f"Nothing stands against it{unless if bare else ''}"


def _hanging_words(found: Measuring) -> str:
    """What hangs on a reading that nothing checks, where others are checked; else empty."""
    if not (found.hanging and found.errors.fits and found.degrees > 0):
        return ""
    own = listed([reading.words for reading, _ in found.hanging], last="or")
    held = [*dict.fromkeys(name for _, names in found.hanging for name in names)]
    are = "is" if len(held) == 1 else "are"
    return f"Careful: if {own} is misread, nothing shows it, and {listed(held)} {are} then misplaced"


def _with_lines(readings: Sequence[Reading], most: int = 6) -> str:
    return listed([*dict.fromkeys(f"{each.words} (line {each.line})" for each in readings)], most)


def contradicting_words(found: Measuring, name: str) -> str | None:
    """Which readings of the file of that name to take again; None where none contradicts the others."""
    if found.errors.sound:
        return None
    # Few: a text of the layout file is no longer than `LONGEST_TEXT`.
    return f"{_with_lines(found.errors.doubted, 3) or 'what `measure` finds furthest off'} of {name}"


def _checked_words(found: Measuring) -> str:
    n, out = found.degrees, bool(found.errors.gross_errors)
    if n < 1:
        return "no spare reading: a misread one would not show"
    words = f"{n} spare reading{'s' if n > 1 else ''}"
    agree = ", and it agrees" if n == 1 and not out else f"; all{' but what is left out' * out} agree"
    agree = f", but not all within {found.errors.solution.rare:.1f} sigmas" if found.errors.undecided else agree
    shown = [(arm, mm) for arm, mm in found.arms_show.items() if not math.isinf(mm)]
    arms = "".join(f"; an error of {arm} shows only where it makes {mm:.1f} mm of belt or more" for arm, mm in shown)
    arms += f"; none checks {found.unchecked_arms}" if found.unchecked_arms else ""
    words += agree + arms if found.errors.fits else ", but the readings contradict each other"
    told = [reading for reading, _ in found.hanging] if found.errors.fits else []
    bare = [
        each.reading.words
        for each in found.checked
        if each.shows is None
        and each.reading not in told
        and not (each.left_out or each.reading.is_of_rim)
        and not only_marks_feel(found.measured, found.errors.solution, each.reading)
    ]
    return words + (f". No other reading checks {listed(bare)}{' either' if told else ''}" if bare else "")


# What is wrong.


def _error_words(found: Measuring, error: GrossError) -> str:
    off, image = f"{abs(error.error):.1f} {error.reading.unit}", error.reading.image
    if image is not None:
        off = px_words(abs(error.error), image, next(each.mm_per_px for each in found.images if each.image is image))
    way = f"too {'much' if error.error > 0.0 else 'little'}"
    by = "if all the others are right" if found.errors.suspects else "by all the others"
    off += f" {'off' if error.reading.unit == 'px' else way} {by}"
    if _all_hang(found):
        every = found.measured.sides
        given = [f"{name}: {' '.join(every[name])}" for name in error.reading.points if name in every]
        off = f"it contradicts `sides`{f' ({listed(given)})' if given else ''}, and nothing else checks it"
    if error.causes:
        off += f"; {WOULD}{'; or '.join(each.told for each in error.causes)}"
    elif isinstance(error.reading, Distance):
        off += _another_rim(found, error.reading, error.error)
    elif isinstance(error.reading, LoopLength):
        arms = listed(error.reading.arms)
        off += f"; is the arm of {arms} as it is written? Or" if arms else "; or"
        off += " was it laid before the route or a pulley was changed? Then take it out"
    value = value_words(error.reading, found.measured.in_inches)
    return f"{error.reading.words}{f', read {as_read(value)}' if value else ''} (line {error.reading.line}): {off}"


def _another_rim(found: Measuring, reading: Distance, error_mm: float) -> str:
    """Which diameter would make a reading over two rims fit; empty where it is over none."""
    fits = {each.pulley: each.value_mm + 2.0 * RIMS[reading.between] * error_mm for each in found.diameters}
    told = [f"{name} was {fits[name]:.1f} mm" for name in reading.rims if fits.get(name, 0.0) > 0.0]
    return f"; it would fit if {' or '.join(told)} across" if told else ""


def _conflict_words(found: Measuring) -> str:
    words = "the readings contradict each other, and more than one is wrong, or the accuracies are too good to be true"
    if found.errors.suspects:
        words = "the readings contradict each other, and the others cannot tell which is wrong"
    if found.errors.fits:
        words = f"what SUSPECT names is over {found.errors.solution.rare:.1f} sigmas off, which is hardly chance"
    grown = "covers whichever it is" if found.errors.suspects else f"is enlarged {found.factor:.1f} times"
    return f"{words}. Nothing is left out; every \N{PLUS-MINUS SIGN} below {grown}"


# What is open.


def _all_hang(found: Measuring) -> bool:
    """Whether all points hang on the one reading that is left out: nothing but `sides` speaks against it."""
    hangs = len(found.undetermined) == len(found.centres) - 1 and len(found.errors.gross_errors) == 1
    return hangs and bool(found.measured.sides)


def _open_words(found: Measuring) -> list[str]:
    undetermined = found.undetermined
    if _all_hang(found):
        return [f"all {len(undetermined)} other points, until {found.errors.gross_errors[0].reading.words} is right"]
    more = [each.point for each in undetermined[_MOST_TOLD:]]
    told = [_undetermined_words(each) for each in undetermined[:_MOST_TOLD]]
    return told + ([f"{listed(more, 6)} as well"] if more else [])


def _undetermined_words(point: Undetermined) -> str:
    if point.line:
        words = f"{point.point} lies nearly on the line {' - '.join(point.line)}: it may lie to either side of it"
        if not point.to:
            return f"{words}. Read an angle or an offset of it"
        return f"{words}. Tape it from off that line: {point.to[0]} - {point.point}"
    if len(point.to) > point.ties:
        needs = f"{point.ties + 1} more distances, as from {listed(point.to)}"
        needs += f": with {point.ties} it may lie in two places"
    else:
        tape = [f"a distance from {listed(point.to, last='or')}"] if point.to else []
        needs = f"{point.ties} more reading{'s' if point.ties > 1 else ''}, as "
        needs += listed([*tape, "an angle", "an offset"], last="or")
    return f"{point.point}: not fixed; it needs {needs}"


def _mirror_words(found: Measuring) -> str:
    settling, origin, told = found.settling, found.measured.origin, list[str]()
    for picture in dict.fromkeys(mirror.picture for mirror in found.mirrors):
        mirrors = [mirror for mirror in found.mirrors if mirror.picture == picture]
        moved, n = dict.fromkeys(name for mirror in mirrors for name in mirror.points), len(mirrors)
        every, solutions = listed([*moved]), "a mirror solution" if n == 1 else f"{n} mirror solutions"
        words = f"the readings allow {solutions} for {every}"
        if picture:
            words = f"{picture} would fit as well, with {every} on the other side"
        if len(moved) == n == 1:
            x, y = (length_text(mm, 1, found.measured.units) for mm in mirrors[0].places[0])
            words += f", at {x}, {y} {found.measured.units}"
        told.append(words + ". Look at that first" * bool(picture))
    is_open = found.measured.frame_is_open
    lines = [_sides_words({**found.measured.sides, **sides} if is_open else sides) for sides in settling.sides]
    if lines:
        other = f"; mirrored: {lines[1]}" if lines[1:] else ", or the opposite word" * (not is_open)
        told += [f"Look from the front, and write where you see it from {origin}: {lines[0]}{other}"]
    told += [_TAPE_SETTLES.format(each) for each in settling.distances]
    told += [_ANGLE_SETTLES.format(each) for each in settling.angles]
    if settling.unsettled and is_open:
        told.append(f"No quarters tell them apart: read the angles from {origin} to two of them")
    elif settling.unsettled:
        which = "" if settling.unsettled == len(found.mirrors) else f" {settling.unsettled} of"
        told.append(f"No one reading tells{which} them apart: they lie too near")
    return ". ".join(told)


def _sides_words(sides: Mapping[str, Sequence[str]]) -> str:
    given = (f"{name}: {' '.join(words)}" for name, words in sides.items())
    return f"`sides: {{{', '.join(given)}}}`"


def _unseen_words(found: Measuring) -> str:
    names = listed(list(found.measured.sides))
    words = (
        f"no way for the points to lie agrees both with the readings and with `sides` ({names}). Look again, facing "
        "the pulleys, your left and right"
    )
    if found.measured.level_taken is None:
        return f"{words}; or was an angle read from plumb, or clockwise?" if found.measured.directions else words
    return f"{words}, however the whole is turned, as nothing says what is level"


# What is on pictures, and what is level.


def _always_fits(trust: Trust) -> bool:
    """Whether an image is the known places of two points that others check, with nothing against them: one length."""
    return trust.image.given and len(trust.image.picks) == 2 and trust.spare > CHECKED and trust.trusted is not False


def _trust_words(found: Measuring, trust: Trust) -> str:
    name, off = trust.image.name, px_words(trust.rms_px, trust.image, trust.mm_per_px)
    stated = f"an accuracy of {trust.image.sd_px:g} {trust.image.unit}"
    doubted = (reading for reading in found.errors.doubted if reading.image is trust.image)
    blamed = list(dict.fromkeys(reading.points[0] for reading in doubted))
    sure = trust.trusted and not trust.image.given
    if sure and len(blamed) == 1 and trust.spare > PARAMETERS["slanted"] - PARAMETERS[trust.image.model]:
        # A picture at a slant would show in the others too: they have more spare readings than it has numbers more.
        it_is = "only its pick of {} is in doubt" if found.errors.suspects else "it is the pick of {}"
        return (
            f"{name}: its other points fit, off by {off} in each coordinate, with {stated}: {it_is.format(blamed[0])}, "
            "or that point stands nearer to the camera or further away than they do"
        )
    if trust.trusted is not False and blamed:
        scale = "Is its `mm_per_px` right? " if trust.image.model == "rigid" else ""
        how = "in doubt with" if found.errors.suspects else "fits without"
        if found.errors.cause is not None:
            return f"{name}: {how} {listed(blamed)}"
        return (
            f"{name}: {how} {listed(blamed)}; too little checks it to tell a wrong pick from a wrong picture. "
            f"{scale}Was it taken square on, with the faces of the pulleys in one plane?"
        )
    if trust.trusted is None or trust.factor is None:
        return f"{name}: nothing checks it; measure a spare distance or two between its points"
    if trust.trusted:
        in_doubt = found.errors.cause or any(mirror.picture for mirror in found.mirrors)
        how = "can be trusted" if found.errors.fits and not in_doubt else "no worse than chance allows"
        return f"{name}: {how}; its points are off by {off} in each coordinate, with {stated}"
    again = (
        "Pick its points again; was it taken square on and from afar, with the faces of the pulleys in one plane? "
        "One at a slant needs `slant: true`"
    )
    if not trust.alone:
        return (
            f"{name}: in doubt, for the readings contradict each other without it as well; its points are off by {off}"
        )
    how = "a suspect as well: all else agrees without it" if found.errors.suspects else "not to be trusted as it stands"
    return (
        f"{name}: {how}; off by {off}, {trust.factor:.1f} times what {stated} allows. "
        f"{'Measure it again, and pick its places again' if trust.image.given else again}"
    )


def level_words(found: Measuring) -> str:
    measured, line = found.measured, found.measured.level_taken
    if line is not None:
        turn = float(np.degrees(found.level_rad))
        laid = "is laid level" if not turn else f"is laid at {turn:.0f} deg, amid what `sides` allow"
        mind = f"{listed(measured.arms)} does: belt, travel and wraps are wrong until it is read"
        mind = mind if measured.carried_mm else "an arm's angles would"
        return f"nothing says what is level: {line[0]} - {line[1]} {laid}. A belt does not mind, {mind}"
    if measured.level is not None:
        return f"{measured.level[0]} - {measured.level[1]} is level, as given"
    return "as the angles and offsets say"


def _level_open_words(found: Measuring) -> str:
    alone, measured = found.level_by, found.measured
    if alone is None:
        return level_words(found)
    moved_mm = np.radians(1.0) * max(math.hypot(*at) for at in measured.carried_mm.values())
    return (
        f"the level hangs on {alone.words} alone (line {alone.line}), and {listed(measured.arms)} counts its angles "
        f"from there: 1 deg off puts the pulley {moved_mm:.1f} mm off"
    )


# What to do next.


def _next_words(found: Measuring) -> list[str]:
    """What to do next, one thing a line where several distances are to be measured."""
    if mending := _mending_words(found):
        return [mending]
    checks = [each for each in found.further if each.checks][:_MOST_TOLD]
    return [_check_words(each, each is checks[0]) for each in checks] or [_sharpening_words(found)]


def _mending_words(found: Measuring) -> str:
    """What mends what stands against the places; empty where nothing does."""
    errors, then = found.errors, "; then look into what CLASH says" * bool(found.clashes)
    if errors.cause is not None:
        return f"look into what {'SIDES' if errors.cause.sides else 'CAUSE'} says, correct the file and run it again"
    if found.clashes and errors.fits:
        return _clash_mending_words(found)
    wrong = errors.doubted
    if wrong and not errors.gross_errors:
        clearing = [each.reading for each in found.clearing]
        told = f"{_again(found, [*clearing, *wrong][:1])}{' first' if len(wrong) > 1 else ''}"
        offered = not clearing and any("write " in each.told for each in errors.suspects[0].causes)
        told = f"{'correct what was a slip, else ' * offered}{told}"
        told += f" (without it {'CLASH goes as well' if found.clashes else 'a belt can run'})" if clearing else ""
        return f"{told}{', then the other suspects' if len(wrong) > 1 else ''}{then * (not clearing)}"
    if wrong:
        # One cause alone, and none of a whole step: nobody knows that it was one but who measures again.
        explained = any(len(each.causes) == 1 and not each.causes[0].steps for each in errors.gross_errors)
        return f"{'correct what was a slip, else ' if explained else ''}{_again(found, wrong)}{then}"
    if not errors.fits:
        return f"measure again what is furthest off below{then}"
    if found.undetermined:
        return f"measure to {listed([each.point for each in found.undetermined])}, as OPEN says"
    if found.mirrors or found.unseen:
        return f"settle which way the points lie, as {'SIDES' if found.unseen else 'MIRROR'} says"
    if found.level_is_open:
        which = "two centres" if found.level_by is None else "two other centres"
        return f"hold a level along {which} far apart, and write what it reads under `angles`"
    return ""


def _clash_mending_words(found: Measuring) -> str:
    """What mends that no belt can run there, though all readings agree."""
    if found.mending or not found.clashes[0].allowed or "belt_side" in found.clashes[0].allowed:
        say = "CLASH and MISREAD say" if found.errors.gross_errors else "CLASH says"
        ends = [({point.partition(".")[0] for point in each.points}, each) for each in found.measured.distances]
        between = [each for names, each in ends if names == {*found.clashing}]
        other = f"; if it is right as written, {_again(found, between)}" if between else ""
        return f"look into what {say}, correct the file and run it again{other}"
    if len(found.clashing) > 1 or len(found.clashes) == 1:
        planned = {found.measured.points[i] for i in by_offsets(found.measured)}
        lines = {each.point: each.line for each in found.measured.offsets if each.point in planned}
        places = [f"{name} (line {lines[name]})" for name in found.clashing if name in lines]
        first = f"if only planned, correct the place of {listed(places)}; else " if places else ""
        return f"{first}measure what holds {listed(found.clashing)} again, and their diameters"
    sizes = (each for each in found.measured.diameters if each.pulley == found.clashing[0])
    read = (f", {as_read(value_words(each, found.measured.in_inches))} (line {each.line})" for each in sizes)
    own = f"look at the diameter of {found.clashing[0]}{next(read, '')}: that pulley is in every CLASH"
    return f"{own}. If it is right, measure what holds {found.clashing[0]} again"


def _again(found: Measuring, readings: Sequence[Reading]) -> str:
    """To measure some readings again, and to pick those that were picked on a picture; an old loop goes."""
    kinds: dict[str, list[Reading]] = {"measure": [], "pick": []}
    for each in readings:
        kinds["pick" if each.image is not None and not each.image.given else "measure"].append(each)
    told = f"{' and '.join(f'{verb} {_with_lines(own)}' for verb, own in kinds.items() if own)} again"
    bare = [each.reading for each in (*found.errors.gross_errors, *found.errors.suspects) if not each.causes]
    loops = [each for each in readings if isinstance(each, LoopLength) and each in bare]
    arms = listed([*dict.fromkeys(arm for each in loops for arm in each.arms)])
    first = f"look at the arm of {arms}; then " if arms else ""
    return f"{first}{told}, or take the loop out if it was laid before a change" if loops else told


def _check_words(further: Further, is_first: bool) -> str:
    asked = f"{'measure' if is_first else 'then'} {further.first} - {further.second}, about {further.about_mm:.1f} mm"
    return f"{asked}: it checks {listed(further.checks)}{', which hardly anything does now' * is_first}"


def _sharpening_words(found: Measuring) -> str:
    if found.enough:
        readings = (each.reading for each in found.checked if each.shows is None)
        bare = [*dict.fromkeys(each.point for each in readings if isinstance(each, Offset))]
        unless = f", if the offsets of {listed(bare)} are right, which nothing checks" if bare else ""
        return f"no more is needed{unless}{_loop_words(found)}"
    if not found.further:
        spare = "read an angle or an offset more: a spare reading checks the others"
        return spare if found.degrees < 1 else "nothing: every distance is measured"
    best = found.further[0]
    return (
        f"measure {best.first} - {best.second}, about {best.about_mm:.1f} mm: it brings all points, to each other, "
        f"from {best.before_mm:.2f} mm to {best.after_mm:.2f} mm"
    )


def _loop_words(found: Measuring) -> str:
    """What would check an arm that nothing does, and from which error on; empty where nothing is to be said."""
    if found.loops_show_mm is None:
        return ""
    wire, belt = found.loops_show_mm
    return (
        f". A string laid round the route with {found.unchecked_arms} held still, under `loops` with `arm_deg`, would "
        f"show an error of it from {wire:.1f} mm of belt on; a belt on hand only from {belt:.1f} mm"
    )
