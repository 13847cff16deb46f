"""A measured drive as JSON."""

from __future__ import annotations

from typing import Any

from beltplan.report.json_lines import json_text
from beltplan.report.measure_mirrors import Apart, settling_of
from beltplan.report.measure_values import is_mark, kind_of, line_of, shape_mm, value_of
from beltplan.report.words import CAUTION
from beltplan.studies.measured import Measured
from beltplan.studies.measured_network import Reading
from beltplan.studies.measuring import Centre, Checked, Measuring, Trust
from beltplan.studies.measuring_advice import Further, Mirror
from beltplan.studies.measuring_blunders import Misread
from beltplan.studies.measuring_slips import slip_of

Object = dict[str, Any]


def measure_json(found: Measuring, written: str | None = None) -> str:
    """The answer as one JSON object in plain ASCII, every number finite; what is unknown is null.

    written: the layout file that was written, if any.
    """
    return json_text(measure_object(found, written))


def measure_object(found: Measuring, written: str | None = None) -> Object:
    """The answer as plain values: mm, deg, px on a picture; every deviation one standard deviation."""
    measured, judged = found.measured, found.judged
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
        "level": _level(found),
        "level_is_taken": found.level is not None,
        "as_seen": not found.unseen,
        "points": [_point(centre, is_mark(found, centre.name)) for centre in found.centres],
        "covariance_mm2": _covariance(found),
        "readings": [_reading(measured, each) for each in found.checked],
        "misread": [_misread(measured, each) for each in judged.misread],
        "suspects": [_misread(measured, each) for each in judged.suspects],
        "mirrors": [_mirror(mirror) for mirror in found.mirrors],
        "settles_mirrors": _settling(found),
        "loose": [{"name": each.point, "readings_needed": each.ties, "from": list(each.to)} for each in found.loose],
        "further": [_further(each) for each in found.further],
        "pictures": [_picture(trust) for trust in found.pictures],
        "sizes": [
            {"name": size.pulley, "rim_diameter_mm": size.diameter_mm, "deviation_mm": size.deviation_mm}
            for size in found.sizes
        ],
        "written": written,
        "caution": CAUTION,
    }


def _level(found: Measuring) -> list[str] | None:
    level = found.level or found.measured.level
    return None if level is None else list(level)


def _point(centre: Centre, mark: bool) -> Object:
    loose = centre.deviation_mm is None
    return {
        "name": centre.name,
        "mark": mark,
        "x_mm": None if loose else centre.x_mm,
        "y_mm": None if loose else centre.y_mm,
        "deviation_x_mm": centre.deviation_x_mm,
        "deviation_y_mm": centre.deviation_y_mm,
        "correlation": centre.correlation,
        "loose": loose,
    }


def _covariance(found: Measuring) -> list[list[float | None]]:
    """Rows and columns x, y of each point, in the order of the points; null for those of a loose one."""
    held = [centre.deviation_mm is not None for centre in found.centres for _ in "xy"]
    return [
        [float(value) if here and there else None for value, there in zip(row, held, strict=True)]
        for row, here in zip(found.covariance_mm2, held, strict=True)
    ]


def _named(measured: Measured, reading: Reading) -> Object:
    source = reading.source
    return {
        "words": reading.words,
        "kind": kind_of(source),
        "written": getattr(source, "written", "") or None,
        "line": line_of(measured, source),
        "value": value_of(source),
        "unit": reading.unit,
    }


def _reading(measured: Measured, each: Checked) -> Object:
    return {
        **_named(measured, each.reading),
        "deviation": each.reading.deviation,
        "residual": each.residual + 0.0,
        "share": each.share,
        "redundancy": each.redundancy,
        "shows": each.shows,
        "left_out": each.left_out,
    }


def _misread(measured: Measured, each: Misread) -> Object:
    value = value_of(each.reading.source)
    fitting = None if value is None or not each.steps else value - each.steps * each.step
    slip = slip_of(measured, each)
    fitting = fitting if slip is None else slip.fits
    return {
        **_named(measured, each.reading),
        "error": each.error,
        "deviation": each.deviation,
        "step": each.step or None,
        "steps": each.steps or None,
        "would_fit": fitting,
        "slip": None if slip is None else slip.kind,
    }


def _mirror(mirror: Mirror) -> Object:
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


def _settling(found: Measuring) -> Object | None:
    if not found.mirrors:
        return None
    settling = settling_of(found)
    return {
        "sides": settling.sides,
        "distances": [_apart(apart, "mm") for apart in settling.distances],
        "angles": [_apart(apart, "deg") for apart in settling.angles],
        "unsettled": settling.unsettled,
    }


def _apart(apart: Apart, unit: str) -> Object:
    return {
        "first": apart.first,
        "second": apart.second,
        f"here_{unit}": apart.here,
        f"there_{unit}": apart.there,
    }


def _further(each: Further) -> Object:
    return {
        "first": each.first,
        "second": each.second,
        "about_mm": each.about_mm,
        "before_mm": each.before_mm,
        "after_mm": each.after_mm,
    }


def _picture(trust: Trust) -> Object:
    return {
        "name": trust.picture.name,
        "mm_per_px": trust.mm_per_px,
        "stated_px": trust.picture.deviation_px,
        "rms_px": trust.rms_px,
        "rms_mm": trust.rms_px * trust.mm_per_px,
        "factor": trust.factor,
        "trusted": trust.trusted,
    }
