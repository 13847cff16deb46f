"""A measured drive as text, as JSON, and as notes at the top of a layout file."""

from __future__ import annotations

from textwrap import wrap
from typing import Any

import numpy as np

from beltplan.measure.advice import Apart, Mirror, Settling
from beltplan.measure.gross_errors import GrossError
from beltplan.measure.misreadings import OTHER_END
from beltplan.measure.readings import Reading
from beltplan.measure.solutions import FALSE_ALARM, POWER, SOURCE
from beltplan.measure.study import Centre, Checked, Measuring, Trust
from beltplan.measure.values import listed, plain, quantity, unit_of, value_words
from beltplan.measure.words import answers, is_tilted, level_words
from beltplan.report.answer import answered, report_of
from beltplan.report.screen import Block, Cell, Column, Footnotes, Paragraph, Report, Table
from beltplan.report.words import SAFETY, fields_of, json_text

_UNCERTAINTY_NOTE = (
    "The uncertainties below are one standard deviation of each place, a common turn and shift taken out, and scaled "
    "so that the belt length spreads as it does by all readings together."
)
_SD = "\N{PLUS-MINUS SIGN}"
_WORST_READINGS, _MOST_READINGS = 5, 40
_LEGEND = "sigmas: over {:.1f} is rare; error shows from: a smaller one would not; never: no other reading checks it"
_OFF_BY = "off by: the reading less what all together say. "
_PLANE_NOTE = (
    "All is in one plane, seen from the front.",
    "On a photo, pulleys nearer to the camera look larger and further out.",
    "Take it square on and from afar, and check it with a tape.",
)
_Object = dict[str, Any]


def measure_notes(found: Measuring, name: str) -> list[str]:
    """Leading comments, line by line, in plain ASCII. name: of the measurements file."""
    source = f"{_ascii(name)}, whose lines are told here"
    change = "Change that file: this one is made anew from it; a plan on paper, not an approval."
    notes = [f"Places found by `beltplan measure` from {source}. {change}"]
    notes += [
        f"{lead}: {_ascii(plain(words, found.measured.units))}"
        for lead, words in answers(found)
        if lead not in ("FOUND", "NEXT", "")
    ]
    return [*(line for note in [*notes, _UNCERTAINTY_NOTE] for line in wrap(note, 98, subsequent_indent="  ")), ""]


def _ascii(text: str) -> str:
    return ascii(text.replace("\N{PLUS-MINUS SIGN}", "+-"))[1:-1]


def measure_report(found: Measuring, written: str | None = None, full: bool = False) -> Report:
    """The answer first, then the places and the worst readings; with `full` all readings, diameters, and how.

    written: the layout file that was written, if any.
    """
    head = f"from {found.measured.origin}, x to your right, y up; {_SD}: one standard deviation"
    head += ", with the tilt of the whole, which a belt does not notice" if is_tilted(found) else ""
    columns = (
        *(Column("point", left=True), Column("x", decimals_mm=1), Column("y", decimals_mm=1)),
        *(Column(f"{_SD} x", decimals_mm=2), Column(f"{_SD} y", decimals_mm=2)),
    )
    parts: list[list[Block]] = [
        [Paragraph(found.measured.title), *answered(answers(found, written))],
        [Paragraph(head, "PLACES   "), Table(columns, [_place(centre) for centre in found.centres])],
        _readings(found, full),
        _diameters(found, full),
        _how(found) if full else ["more: --full"],
    ]
    return report_of(found.measured.units, parts, Footnotes(), full, more="")


def _place(centre: Centre) -> list[Cell]:
    name = f"{centre.name} (mark)" if centre.mark else centre.name
    if centre.is_undetermined:
        return [name, "?", "?", "not fixed", None]
    return [name, *centre.at_mm, *(centre.sds_mm if centre.widest_mm > 0.0 else ["exact", "exact"])]


def _readings(found: Measuring, full: bool) -> list[Block]:
    # Those left out, then those furthest off for what chance makes of them, unchecked last; rounded, so that equal ones
    # stand everywhere as in the file.
    rows = sorted(found.checked, key=lambda each: (not each.left_out, each.share is None, -round(each.share or 0.0, 3)))
    shown = rows[: _MOST_READINGS if full else max(_WORST_READINGS, sum(each.left_out for each in rows))]
    if not rows:
        return []
    columns = (
        *(Column("reading", left=True), Column("as read"), Column("off by"), Column("sigmas")),
        *(Column("error shows from", drop=1), Column("line", drop=2)),
    )
    count = f"the worst {len(shown)}" if len(shown) < len(rows) else "the worst first"
    return [
        f"READINGS  {count}",
        Table(columns, [_reading(found, each) for each in shown]),
        Paragraph(_OFF_BY * full + _LEGEND.format(found.errors.solution.rare), "  "),
    ]


def _reading(found: Measuring, each: Checked) -> list[Cell]:
    units, unit, read = found.measured.units, unit_of(each.reading), each.reading.value is not None
    share = "left out" if each.left_out else None if each.share is None else f"{each.share:.1f}"
    shows = "never" if each.shows is None else quantity(each.shows, unit, units, signed=False)
    return [
        each.reading.words,
        *(value_words(each.reading, found.measured.in_inches), quantity(each.error, unit, units, read), share),
        *(None if each.left_out else shows, str(each.reading.line)),
    ]


def _diameters(found: Measuring, full: bool) -> list[Block]:
    read = {each.pulley for each in found.measured.diameters}
    rows = [(each.pulley, each.value_mm, each.sd_mm) for each in found.diameters if full or each.pulley not in read]
    columns = (Column("pulley", left=True), Column("over the rim", decimals_mm=2), Column(_SD, decimals_mm=2))
    return ["DIAMETERS  over the rim, by all readings together", Table(columns, rows)] if rows else []


def _how(found: Measuring) -> list[Block]:
    grown = "The readings contradict each other, so every standard deviation is enlarged"
    sentences = [
        *([] if found.measured.frame_is_open else [f"Level: {level_words(found)}."]),
        *accuracy_words(found),
        f"A reading is called wrong where chance alone makes the like in {100.0 * FALSE_ALARM:g} of 100 sets.",
        f"'error shows from': such an error is found {100.0 * POWER:.0f} times of 100 ({SOURCE}).",
        *([f"{grown} {found.factor:.2f} times."] if found.factor > 1.0 else []),
        *_PLANE_NOTE,
    ]
    return ["HOW", *(Paragraph(words, "  ", "    ") for words in sentences)]


def accuracy_words(found: Measuring) -> list[str]:
    kinds: dict[str, dict[str, None]] = {}
    for each in found.checked:
        kinds.setdefault(each.reading.kind, {})[f"{each.reading.sd:.3g} {unit_of(each.reading)}"] = None
    told = [f"{listed([*values], last='or')} for each {kind}" for kind, values in kinds.items()]
    return [
        f"Least squares. Accuracies, one standard deviation each: {', '.join(told)}.",
        "Accuracies that the file does not give are common practice, no source.",
    ]


def measure_json(found: Measuring, written: str | None = None) -> str:
    """The answer as one JSON object in plain ASCII, every number finite: mm, deg, px on an image; unknown is null.

    Every deviation is one standard deviation. residual, of a reading: how much it reads too much. loose: fixed by no
    reading. written: the layout file that was written, if any.
    """
    measured, errors = found.measured, found.errors
    # Of the covariance rows and columns x, y of each point, in their order.
    held = np.repeat([not centre.is_undetermined for centre in found.centres], 2)
    told = {
        "title": measured.title,
        "units": "mm",
        "origin": measured.origin,
        **fields_of(found, "sound", "settled", "enough", "unchecked_arms", "loops_show_mm", "springs", "arms_stand"),
        "fits": errors.fits,
        "degrees_of_freedom": found.degrees,
        "sum_of_squares": errors.solution.cost,
        "factor": found.factor,
        "shape_deviation_mm": found.shape_mm,
        "level": measured.level_taken or measured.level,
        "level_is_taken": measured.level_taken is not None,
        "level_is_open": found.level_is_open,
        "as_seen": not found.unseen,
        "mending": found.mending or None,
        "clashes": [{"pulleys": each.pulleys, "got": each.got, "allowed": each.allowed} for each in found.clashes],
        "not_on_route": measured.unrouted,
        "points": [_point(centre) for centre in found.centres],
        "covariance_mm2": np.where(held[:, None] & held, found.covariance_mm2, np.array(None)).tolist(),
        "readings": [_reading_json(each) for each in found.checked],
        "cause": None if (cause := errors.cause) is None else {"kind": cause.kind, "words": plain(cause.words, "mm")},
        "misread": [_gross_error(each) for each in errors.gross_errors],
        "suspects": [_gross_error(each) for each in errors.suspects],
        "mirrors": [_mirror_json(mirror) for mirror in found.mirrors],
        "settles_mirrors": _settling(found.settling) if found.mirrors else None,
        "loose": [{"name": each.point, "readings_needed": each.ties, "from": each.to} for each in found.undetermined],
        "further": [each._asdict() for each in found.further],
        "pictures": [_image(trust) for trust in found.images],
        "sizes": [
            {"name": size.pulley, "rim_diameter_mm": size.value_mm, "deviation_mm": size.sd_mm}
            for size in found.diameters
        ],
        "written": written,
        "caution": SAFETY,
    }
    return json_text(told)


def _point(centre: Centre) -> _Object:
    x_mm, y_mm = (None, None) if centre.is_undetermined else centre.at_mm
    sd_x_mm, sd_y_mm = centre.sds_mm or (None, None)
    return {
        **fields_of(centre, "name", "mark"),
        "x_mm": x_mm,
        "y_mm": y_mm,
        "deviation_x_mm": sd_x_mm,
        "deviation_y_mm": sd_y_mm,
        "correlation": centre.correlation,
        "loose": centre.is_undetermined,
    }


def _named(reading: Reading) -> _Object:
    told = fields_of(reading, "words", "kind", "written", "line", "value", "unit")
    return told | {"written": reading.written or None}


def _reading_json(each: Checked) -> _Object:
    return {
        **_named(each.reading),
        "deviation": each.reading.sd,
        "residual": each.error + 0.0,
        **fields_of(each, "share", "redundancy", "shows", "left_out"),
    }


def _gross_error(each: GrossError) -> _Object:
    slip, ends = each.misreading, (cause.words for cause in each.causes if cause.kind == OTHER_END)
    return {
        **_named(each.reading),
        "error": each.error,
        "deviation": each.sd,
        "step": slip.step or None if slip else None,
        "steps": slip.steps or None if slip else None,
        "would_fit": slip.fits if slip and each.reading.value is not None else None,
        "slip": slip.kind if slip and not slip.steps else None,
        "other_end": next(ends, None),
    }


def _mirror_json(mirror: Mirror) -> _Object:
    at = zip(mirror.points, mirror.places, strict=True)
    return {
        "points": [{"name": name, "x_mm": x, "y_mm": y} for name, (x, y) in at],
        "sides": dict(mirror.sides),
        "distance": None if mirror.further is None else _apart("mm", mirror.further),
        "picture": mirror.picture or None,
    }


def _settling(settling: Settling) -> _Object:
    return {
        "sides": next(iter(settling.sides), {}),
        "distances": [_apart("mm", apart) for apart in settling.distances],
        "angles": [_apart("deg", apart) for apart in settling.angles],
        "unsettled": settling.unsettled,
    }


def _apart(unit: str, apart: Apart) -> _Object:
    return {"first": apart.first, "second": apart.second, f"here_{unit}": apart.here, f"there_{unit}": apart.there}


def _image(trust: Trust) -> _Object:
    return {
        "name": trust.image.name,
        "mm_per_px": trust.mm_per_px,
        "stated_px": trust.image.sd_px,
        "rms_px": trust.rms_px,
        "rms_mm": trust.rms_px * trust.mm_per_px,
        **fields_of(trust, "factor", "trusted"),
    }
