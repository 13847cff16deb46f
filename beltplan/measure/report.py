"""A measured drive as text, as JSON, and as notes at the top of a layout file."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from beltplan.drive.belt import MM_PER_INCH
from beltplan.measure.advice import Mirror
from beltplan.measure.gross_errors import GrossError, slip_of
from beltplan.measure.readings import Measured, Reading
from beltplan.measure.settling import Apart, settling_of
from beltplan.measure.solutions import FALSE_ALARM, POWER, SOURCE
from beltplan.measure.study import Centre, Checked, Measuring, Trust
from beltplan.measure.values import (
    ellipse_of,
    is_mark,
    length_words,
    listed,
    mm_per_unit,
    number,
    shape_mm,
    unit_of,
    value_words,
    worst_first,
)
from beltplan.measure.words import answers, level_words
from beltplan.report.words import SAFETY, json_text, paragraph, table

_UNCERTAINTY_NOTE = (
    "The uncertainties below are one standard deviation of each place, a common turn and shift taken out, and scaled "
    "so that the belt length spreads as it does by all readings together."
)


_MOST_READINGS = 40
_MOST_MIRRORS, _MOST_MOVED = 3, 4
_PLANE_NOTE = (
    "All is in one plane, seen from the front. On a photo, pulleys whose faces stand nearer to the camera look larger "
    "and further out: take it square on and from afar, and check it with a tape."
)
_Object = dict[str, Any]


def measure_notes(found: Measuring, name: str) -> list[str]:
    """Leading comments, line by line, in plain ASCII. name: of the measurements file."""
    source = f"{_ascii(name)} (lines told are those of that file)"
    notes = [f"Places found by `beltplan measure` from {source}; a plan on paper, not an approval."]
    notes += [
        f"{lead}: {_ascii(words)}"
        for lead, words in answers(found)
        if lead in ("MISREAD", "DOUBT", "SUSPECT", "SIDES", "LEVEL")
        or (lead == "CHECKED" and found.degrees < 1)
        or (lead == "PICTURE" and not all(trust.trusted for trust in found.images))
    ]
    return [*(line for note in [*notes, _UNCERTAINTY_NOTE] for line in paragraph(note, "", "  ")), ""]


def _ascii(text: str) -> str:
    return ascii(text.replace("\N{PLUS-MINUS SIGN}", "+-"))[1:-1]


def measure_text(found: Measuring, written: str | None = None) -> str:
    """The whole answer as plain text, no line over 98 columns. written: the layout file that was written, if any."""
    parts = (
        _head(found, written),
        _places(found),
        _readings(found),
        _mirrors(found),
        _sizes(found),
        _further(found),
        _how(found),
    )
    lines = [line for part in parts if part for line in [*part, ""]]
    return "\n".join([*lines, *paragraph(SAFETY, "CAUTION  ")])


def _head(found: Measuring, written: str | None) -> list[str]:
    rows = answers(found, written)
    return [
        *paragraph(found.measured.title),
        *(line for lead, words in rows for line in paragraph(words, f"{lead:9}")),
    ]


def _places(found: Measuring) -> list[str]:
    in_inches = found.measured.in_inches
    heads = [
        "point",
        "x",
        "y",
        *(["x in", "y in"] if in_inches else []),
        "\N{PLUS-MINUS SIGN} x",
        "\N{PLUS-MINUS SIGN} y",
    ]
    heads += ["corr.", "widest", "along"]
    rows = [
        _place(centre, f"{centre.name} (mark)" if is_mark(found, centre.name) else centre.name, in_inches)
        for centre in found.centres
    ]
    about = f"mm from {found.measured.origin}, x to your right, y up; \N{PLUS-MINUS SIGN} one standard deviation"
    return [*paragraph(about, "PLACES   "), *table(heads, rows)]


def _place(centre: Centre, name: str, in_inches: bool) -> list[str]:
    ellipse = ellipse_of(centre)
    x, y = centre.sd_x_mm, centre.sd_y_mm
    if ellipse is None or x is None or y is None:
        return [name, *["?"] * (4 if in_inches else 2), "loose", *["-"] * 4]
    inches = [number(value / MM_PER_INCH, 2) for value in centre.at_mm] if in_inches else []
    spread = ["exact", "exact", "-", "-", "-"]
    if ellipse.long_mm > 0.0:
        correlation = "-" if centre.correlation is None else number(centre.correlation, 2)
        spread = [f"{x:.2f}", f"{y:.2f}", correlation, f"{ellipse.long_mm:.2f}", f"{ellipse.angle_deg:.0f} deg"]
    return [name, *(number(value, 1) for value in centre.at_mm), *inches, *spread]


@dataclass(frozen=True, eq=False)
class _Row:
    """A line of the table of readings; several points of one rim share a line, the worst of them told."""

    words: str
    worst: Checked
    count: int = 1


def _rows(found: Measuring) -> list[_Row]:
    rows: dict[object, _Row] = {}
    for each in worst_first(found.checked):
        reading = each.reading
        if reading.image is None or not reading.is_of_rim or each.left_out:
            rows[each] = _Row(reading.words, each)
            continue
        key = (reading.points, reading.image)
        first = rows.get(key)
        count = 1 if first is None else first.count + 1
        words = f"rim of {reading.points[0]} on {reading.image.name}, worst of {count}"
        rows[key] = _Row(words, each if first is None else first.worst, count)
    return list(rows.values())


def _readings(found: Measuring) -> list[str]:
    rows = _rows(found)
    if not rows:
        return []
    in_inches = found.measured.in_inches
    heads = ["reading", "as read", "off by", *(["in"] if in_inches else []), "of chance", "shows from", "line"]
    lines = table(heads, [_reading(found, row) for row in rows[:_MOST_READINGS]])
    more = len(rows) - _MOST_READINGS
    lines += [f"and {more} more that are off by less"] if more > 0 else []
    notes = (
        "Off by: the reading less what all together say. Of chance: that over what chance makes of it (one standard "
        "deviation); over 3 is rare. Shows from: an error smaller than this would most likely not show; never: "
        "nothing checks the reading."
    )
    return ["READINGS  the worst first", *lines, *paragraph(notes, "  ")]


def _reading(found: Measuring, row: _Row) -> list[str]:
    each = row.worst
    unit, signed = unit_of(each.reading), each.reading.value is not None
    off = number(each.residual, 1, signed)
    mm = each.residual * mm_per_unit(found, each.reading)
    inch = "" if unit == "deg" else number(mm / MM_PER_INCH, 2, signed)
    share = "LEFT OUT" if each.left_out else "-" if each.share is None else f"{each.share:.1f}"
    shows = "-" if each.left_out else "never" if each.shows is None else f"{each.shows:.1f} {unit}"
    cells = [row.words, value_words(each.reading, found.measured.in_inches), f"{off} {unit}"]
    cells += [inch] if found.measured.in_inches else []
    return [*cells, share, shows, str(each.reading.line)]


def _mirrors(found: Measuring) -> list[str]:
    if not found.mirrors:
        return []
    told = [line for each in found.mirrors[:_MOST_MIRRORS] for line in paragraph(_mirror(found, each), "  ", "    ")]
    more = len(found.mirrors) - _MOST_MIRRORS
    left = settling_of(found).unsettled
    told += [f"  and {more} more"] if more > 0 else []
    told += [f"  {left} of them so near that no one reading tells them apart"] if left else []
    return ["MIRRORS  where points may lie instead, mm", *told]


def _mirror(found: Measuring, mirror: Mirror) -> str:
    pairs = list(zip(mirror.points, mirror.places, strict=True))
    places = [f"{name} at {number(x, 1)}, {number(y, 1)}" for name, (x, y) in pairs]
    return listed(places, _MOST_MOVED)


def _sizes(found: Measuring) -> list[str]:
    if not found.diameters:
        return []
    rows = [
        [
            size.pulley,
            f"{size.diameter_mm:.2f} mm",
            f"{size.diameter_mm / MM_PER_INCH:.3f}",
            f"{size.sd_mm:.2f} mm",
        ]
        for size in found.diameters
    ]
    heads = ["pulley", "over the rim", "in", "\N{PLUS-MINUS SIGN}"]
    return [
        "DIAMETERS  over the rim: as calipers, the file's own diameters, tape and traced rims say together",
        *table(heads, rows),
    ]


def _further(found: Measuring) -> list[str]:
    if not found.further:
        return []
    rows = [
        [
            f"{each.first} - {each.second}",
            length_words(each.about_mm, found.measured.in_inches),
            f"{each.before_mm:.2f} mm",
            f"{each.after_mm:.2f} mm",
        ]
        for each in found.further
    ]
    heads = ["distance", "about", "\N{PLUS-MINUS SIGN} now", "\N{PLUS-MINUS SIGN} with it"]
    about = f"FURTHER  what would sharpen the places most, turn apart, read to {found.measured.tape_mm:g} mm"
    return [about, *table(heads, rows)]


def _how(found: Measuring) -> list[str]:
    level = [] if found.measured.frame_is_open else [f"Level: {level_words(found)}."]
    sentences = [*level, accuracy_words(found), _test_words(found), _PLANE_NOTE]
    return ["HOW", *(line for words in sentences for line in paragraph(words, "  ", "    "))]


def accuracy_words(found: Measuring) -> str:
    """How good the readings were taken to be, by kind."""
    kinds: dict[str, dict[str, int]] = {}
    for each in found.checked:
        counts = kinds.setdefault(each.reading.kind, {})
        value = f"{each.reading.sd:.3g} {unit_of(each.reading)}"
        counts[value] = counts.get(value, 0) + 1
    told = []
    for kind, counts in kinds.items():
        usual, *others = sorted(counts, key=lambda value: -counts[value])
        own = f" (but {', '.join(f'{value} for {counts[value]}' for value in others[:3])})" if others else ""
        told.append(f"{usual} for each {kind}{own}")
    words = "Places by least squares. Accuracies, one standard deviation each: "
    return f"{words}{', '.join(told)}. What the file does not give is common practice, no source."


def _test_words(found: Measuring) -> str:
    enlarged = ""
    if found.factor > 1.0:
        enlarged = f" As the readings do not agree, every deviation is enlarged {found.factor:.2f} times."
    return (
        f"A reading is called wrong where chance alone makes the like in {100.0 * FALSE_ALARM:g} of 100 sets; what "
        f"'shows' does so {100.0 * POWER:.0f} times of 100 ({SOURCE}).{enlarged}"
    )


def measure_json(found: Measuring, written: str | None = None) -> str:
    """The answer as one JSON object in plain ASCII, every number finite; what is unknown is null.

    written: the layout file that was written, if any.
    """
    return json_text(measure_object(found, written))


def measure_object(found: Measuring, written: str | None = None) -> _Object:
    """The answer as plain values: mm, deg, px on an image; every deviation one standard deviation."""
    measured, judged = found.measured, found.judged
    level = found.level or measured.level
    return {
        "title": measured.title,
        "units": "mm",
        "origin": measured.origin,
        "sound": found.sound,
        "settled": found.settled,
        "fits": judged.fits,
        "degrees_of_freedom": found.degrees,
        "sum_of_squares": judged.solution.cost,
        "factor": found.factor,
        "shape_deviation_mm": shape_mm(found),
        "level": None if level is None else list(level),
        "level_is_taken": found.level is not None,
        "as_seen": not found.unseen,
        "clashes": [asdict(each) for each in found.clashes],
        "points": [_point(centre, is_mark(found, centre.name)) for centre in found.centres],
        "covariance_mm2": _covariance(found),
        "readings": [_reading_json(each) for each in found.checked],
        "misread": [_gross_error(measured, each) for each in judged.gross_errors],
        "suspects": [_gross_error(measured, each) for each in judged.suspects],
        "mirrors": [_mirror_json(mirror) for mirror in found.mirrors],
        "settles_mirrors": _settling(found),
        "loose": [
            {"name": each.point, "readings_needed": each.ties, "from": list(each.to)} for each in found.undetermined
        ],
        "further": [asdict(each) for each in found.further],
        "pictures": [_image(trust) for trust in found.images],
        "sizes": [
            {"name": size.pulley, "rim_diameter_mm": size.diameter_mm, "deviation_mm": size.sd_mm}
            for size in found.diameters
        ],
        "written": written,
        "caution": SAFETY,
    }


def _point(centre: Centre, mark: bool) -> _Object:
    undetermined = centre.is_undetermined
    return {
        "name": centre.name,
        "mark": mark,
        "x_mm": None if undetermined else centre.x_mm,
        "y_mm": None if undetermined else centre.y_mm,
        "deviation_x_mm": centre.sd_x_mm,
        "deviation_y_mm": centre.sd_y_mm,
        "correlation": centre.correlation,
        "loose": undetermined,
    }


def _covariance(found: Measuring) -> list[list[float | None]]:
    """Rows and columns x, y of each point, in the order of the points; null for those of a loose one."""
    held = [not centre.is_undetermined for centre in found.centres for _ in "xy"]
    return [
        [float(value) if here and there else None for value, there in zip(row, held, strict=True)]
        for row, here in zip(found.covariance_mm2, held, strict=True)
    ]


def _named(reading: Reading) -> _Object:
    return {
        "words": reading.words,
        "kind": reading.kind,
        "written": reading.written or None,
        "line": reading.line,
        "value": reading.value,
        "unit": reading.unit,
    }


def _reading_json(each: Checked) -> _Object:
    return {
        **_named(each.reading),
        "deviation": each.reading.sd,
        "residual": each.residual + 0.0,
        "share": each.share,
        "redundancy": each.redundancy,
        "shows": each.shows,
        "left_out": each.left_out,
    }


def _gross_error(measured: Measured, each: GrossError) -> _Object:
    value = each.reading.value
    fitting = None if value is None or not each.steps else value - each.steps * each.step
    slip = slip_of(measured, each)
    fitting = fitting if slip is None else slip.fits
    return {
        **_named(each.reading),
        "error": each.error,
        "deviation": each.sd,
        "step": each.step or None,
        "steps": each.steps or None,
        "would_fit": fitting,
        "slip": None if slip is None else slip.kind,
    }


def _mirror_json(mirror: Mirror) -> _Object:
    further = mirror.further
    return {
        "points": [
            {"name": name, "x_mm": x, "y_mm": y} for name, (x, y) in zip(mirror.points, mirror.places, strict=True)
        ],
        "sides": dict(mirror.sides),
        "distance": None
        if further is None
        else {"first": further[0], "second": further[1], "here_mm": further[2], "there_mm": further[3]},
    }


def _settling(found: Measuring) -> _Object | None:
    if not found.mirrors:
        return None
    settling = settling_of(found)
    return {
        "sides": settling.sides,
        "distances": [_apart(apart, "mm") for apart in settling.distances],
        "angles": [_apart(apart, "deg") for apart in settling.angles],
        "unsettled": settling.unsettled,
    }


def _apart(apart: Apart, unit: str) -> _Object:
    return {
        "first": apart.first,
        "second": apart.second,
        f"here_{unit}": apart.here,
        f"there_{unit}": apart.there,
    }


def _image(trust: Trust) -> _Object:
    return {
        "name": trust.image.name,
        "mm_per_px": trust.mm_per_px,
        "stated_px": trust.image.sd_px,
        "rms_px": trust.rms_px,
        "rms_mm": trust.rms_px * trust.mm_per_px,
        "factor": trust.factor,
        "trusted": trust.trusted,
    }
