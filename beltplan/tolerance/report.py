"""The tolerance study as a report and as JSON."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from beltplan.checks.belt import ask_words, none_put_on_words
from beltplan.checks.every_check import new_words
from beltplan.checks.limits import all_of
from beltplan.checks.placing import at_least_words
from beltplan.drive.belt import designation_inches, length_words, parse_designation
from beltplan.drive.fit import adjuster_word
from beltplan.drive.layout import deviations_of
from beltplan.drive.pulleys import DEVIATIONS_SOURCE
from beltplan.geometry.vectors import Floats
from beltplan.judging.room import Stays, room_of
from beltplan.report.answer import Answers, answered, report_of, title_of
from beltplan.report.check_json import finding_of
from beltplan.report.check_text import NOT_YET, headline_beside
from beltplan.report.screen import Block, Column, Footnotes, Paragraph, Report, Table
from beltplan.report.words import SAFETY, fields_of, head_of, json_text
from beltplan.tolerance.study import (
    BUYING,
    OFTEN,
    WORTH_A_WARNING,
    BeltChance,
    Contribution,
    GapChance,
    Tolerance,
    WrapSpread,
    against,
    band,
    fitted_words,
    percent,
    sampling_error,
)

_WORTH_NAMING, _LITTLE = 0.1, 0.9
"""Share of the variance from which a measurement is named at the top; share of the spread left that helps little."""
_SHORT, _LONG = 5, 12
"""Rows of measurements at most: in short, and with `full`."""


def tolerance_report(study: Tolerance, full: bool = False) -> Report:
    """What to buy and what to measure, then chances, wraps and measurements; with `full`, all of them and how."""
    layout = study.route.layout
    good = f"Chances are good to {100.0 * sampling_error(study.draws):g} %{'' if full else '; more: --full'}."
    good = f"{'Room left: kept in 19 of 20 draws; minus: lacking. ' * bool(study.belts)}{good}"
    parts: list[list[Block]] = [
        [title_of(layout), Paragraph(headline_beside(study.plan)), *answered(answers(study))],
        _belts(study, full),
        _wraps(study, full),
        _measurements(study, full),
        ["HOW", *(Paragraph(words, "  ", "    ") for words in _how(study))] if full else [],
        [Paragraph(good)],
    ]
    return report_of(layout.units, parts, Footnotes(), full, more="")


def answers(study: Tolerance) -> Answers:
    return (
        ("BUY", _buy_words(study)),
        *_narrow(study),
        *_too_near(study),
        *([] if _layout_first(study) else [("MEASURE", _measure_words(study))]),
        *_place_words(study),
        ("LENGTH", _length_words(study)),
        *((("PATH", f"in {percent(study.no_path)} of draws no belt can be laid"),) if study.no_path else ()),
        *((("TRAVEL", _travel_words(study)),) if study.cut else ()),
    )


def _narrow(study: Tolerance) -> Answers:
    narrow = [wrap for wrap in study.wraps if wrap.under >= WORTH_A_WARNING]
    chances = ", ".join(f"{wrap.pulley} {percent(wrap.under)}" for wrap in narrow)
    belt = "" if study.windows is None else f" with {fitted_words(study)}"
    first = ". Change the layout before you measure: measuring only tells whether it is so" * _layout_first(study)
    return [("WRAP", f"chance to fall short{belt}: {chances}{first}")] if narrow else []


def _too_near(study: Tolerance) -> Answers:
    chances, layout, moves = [], study.route.layout, dict[str, None]()
    fixed = {pulley.name for pulley in study.route.pulleys[1:] if pulley.adjuster is None}
    for gap in (gap for gap in study.gaps if gap.under >= WORTH_A_WARNING):
        spare = -1.0 if gap.as_given_mm is None else gap.as_given_mm - gap.bound.limit
        words = f" ({at_least_words(spare, layout.units)} to spare)" * (spare >= 0.0)
        moves |= dict.fromkeys(name for name in (gap.first, gap.second) if name in fixed)
        chances.append(f"{gap.first} and {gap.second} {percent(gap.under)}{words}")
    room = f". `beltplan place` looks for more room for {' or '.join(moves)}" * bool(moves)
    return [("GAP", f"chance of too small a gap: {', '.join(chances)}{room}")] if chances else []


def _layout_first(study: Tolerance) -> bool:
    """Whether a wrap falls short so often, whatever the belt, that it is not for measuring to mend."""
    return any(wrap.under >= OFTEN for wrap in study.wraps) and not (study.another_wraps or study.lost)


def _buy_words(study: Tolerance) -> str:
    nearest, chosen = study.nearest, study.chosen
    if study.best is None and study.route.to_ask_for_mm is not None:
        words = ": ".join(ask_words(study.route, study.route.to_ask_for_mm))
        return f"{words}, for the layout as given" if study.worth_asking else words
    if nearest is None:
        unlisted = "no belt on the list can be fitted in any draw: another length, or move a bracket"
        return f"none; {none_put_on_words(study.route) or unlisted}"
    told = ", ".join(f"{percent(each)} {words}" for each, words in _chances(study, nearest))
    words = f"{nearest.designation} ({designation_inches(nearest.belt)} in): {told}"
    if chosen is not None and chosen != nearest:
        named = study.route.layout.belt.length_mm is not None
        whose = "named in the file" if named else "which `check` and `fit` choose"
        words += f"; with {chosen.designation}, {whose}, {percent(_chances(study, chosen)[-1][0])}"
    if study.best is None:
        return f"none; the nearest is {words}. {_lacking_words(study)}"
    if study.plan.count("problem"):
        return f"{NOT_YET}{words}"
    return f"{words}{_follow_words(study, study.best)}{_passed_words(study, study.best)}"


def _follow_words(study: Tolerance, best: BeltChance) -> str:
    """What makes `check` and `fit` take the belt to buy; '' where they do."""
    if study.chosen in (None, best):
        return ""
    # A belt with values of its own is not said by its designation.
    plain = parse_designation(best.designation) == best.belt
    write = f"Write `belt: {best.designation}`" if plain else "Give its length under `belt`"
    return f". {write}, and `check` and `fit` go by it{_but_words(study, best)}"


def _but_words(study: Tolerance, chance: BeltChance) -> str:
    """What `check` has against a belt, and not against its own; '' where that is nothing."""
    found = against(study.plan, chance.belt)
    more = f" (and {len(found) - 1} more)" * (len(found) > 1)
    return f", but `check` then has {new_words(found)}{more}" * bool(found)


def _passed_words(study: Tolerance, best: BeltChance) -> str:
    """Which belt of better chances is not bought for what `check` has against it; '' without one."""
    passed = study.foremost_chance
    if passed is None or passed == best or not (but := _but_words(study, passed)):
        return ""
    return f". {passed.designation} has better chances ({percent(_chances(study, passed)[-1][0])}){but}"


def _lacking_words(study: Tolerance) -> str:
    if study.windows is not None:
        return f"The {adjuster_word(study.route.circuit)} needs more travel, or a bracket must move: see `check`"
    needs = "another path, or an adjuster" if study.route.layout.belt.stretch_fit else "an adjuster, or a stretch belt"
    return f"The drive needs {needs}: see `check`"


def _chances(study: Tolerance, chance: BeltChance) -> list[tuple[float, str]]:
    """What is told of a belt; the last is what decides."""
    if chance.with_reserve is None:
        return [(chance.inside, "chance that its length tolerance holds the path; nothing takes up wear")]
    told = [(chance.inside, "chance that it can be fitted"), (chance.with_reserve, "with room for wear")]
    narrow = any(each and each.narrow >= WORTH_A_WARNING for each in (chance, study.nearest, study.chosen))
    return told + [(chance.wrapped, "with no wrap under its minimum")] * (study.wraps_tell and narrow)


def _measure_words(study: Tolerance) -> str:
    if study.route.needed_mm is None:
        return "no path at the design setting, so it is not known which measurement matters most"
    told = study.to_measure
    if study.lost:
        fails = " and ".join(study.lost)
        return f"no measuring helps: in over 99 % of draws {fails}. Change the layout first"
    if not told:
        return "nothing again: no measurement here has an error"
    others = [row.measurement.words for row in told[1:4] if (row.share or 0.0) >= _WORTH_NAMING]
    first = told[0].measurement
    how = {"x": " (how far to the side it stands)", "y": " (how high it stands)"}.get(first.part, "")
    again = f"{first.words}{how} again"
    if first.part == "rim height":
        again = f"look up the effective diameter of {first.pulley}, its rim reading leaves it open"
    then = f"; then {all_of(others)}" if others else ""
    return f"{again}{then}{_helps(study, told[0], 'The first' if others else 'It')}"


def _to_place(study: Tolerance) -> dict[str, Stays]:
    """How near to its place what is planned must stand, by name: as it is drawn, or nearer against a problem."""
    layout, planned = study.route.layout, [pulley for pulley in study.route.pulleys if pulley.planned]
    drawn = {pulley.name: deviations_of(layout, pulley).position_mm for pulley in planned}
    return {name: room_of(layout, name, off_mm) or Stays(off_mm, None) for name, off_mm in drawn.items()}


def _place_words(study: Tolerance) -> Answers:
    alike: dict[str, list[str]] = {}
    for name, room in _to_place(study).items():
        words = room.words(study.route.layout.units) + ", as is assumed here" * (not room.why)
        alike.setdefault(words, []).append(name)
    told = "; ".join(f"{all_of(names)} {words}" for words, names in alike.items())
    return [("PLACE", f"{told}. Once in place, measure it and take out `planned: true`")] if told else []


def _helps(study: Tolerance, row: Contribution, it: str) -> str:
    """What the path's standard deviation comes to without the error of one measurement."""
    if row.share is None or not study.needed_mm.size:
        return ""
    now, left = float(study.needed_mm.std()), math.sqrt(1.0 - row.share)
    little = ", but only a little" * (left > _LITTLE)
    falls = f"the path's standard deviation falls from {now:.2f} to {now * left:.2f} mm"
    return f". {it} helps most{little}: {falls}"


def _length_words(study: Tolerance) -> str:
    needed, band = study.route.needed_mm, study.needed_band_mm
    if needed is None or band is None:
        return "no path at the design setting"
    path = length_words(study.route.layout.belt.profile, needed, inches=True)
    return (
        f"path at the design setting {path}; 19 of 20 draws lie between {band[0]:.1f} and {band[1]:.1f} mm; standard "
        f"deviation {study.needed_mm.std():.2f} mm"
    )


def _travel_words(study: Tolerance) -> str:
    turns, adjuster = percent(study.turns_back), adjuster_word(study.route.circuit)
    wrong = f"; in {turns} the {adjuster} works the wrong way past a point" * (study.turns_back > 0.0)
    return f"in {percent(study.cut)} of draws a part of the travel cannot be used{wrong}"


# Chances, wraps, measurements.


def _belts(study: Tolerance, full: bool) -> list[Block]:
    if not study.belts:
        return []
    shown = study.foremost() if full else study.foremost(_SHORT)
    columns = (
        *(Column("belt", left=True), Column("in", drop=2), Column("can be fitted"), Column("with room for wear")),
        *((Column("and every wrap", drop=1),) if study.wraps_tell else ()),
        *(Column("room left (19 of 20)", drop=1, decimals_mm=1), Column("", left=True)),
    )
    rows = [
        (
            *(belt.designation, designation_inches(belt.belt), percent(belt.inside)),
            None if belt.with_reserve is None else percent(belt.with_reserve),
            *((percent(belt.wrapped),) if study.wraps_tell else ()),
            belt.reserve_mm,
            "".join(f"<- {word}" for word in study.called(belt)),
        )
        for belt in shown
    ]
    more = len(study.belts) - len(rows)
    return [Table(columns, rows), *([f"and {more} more, none a better choice"] if more > 0 else [])]


def _wraps(study: Tolerance, full: bool) -> list[Block]:
    if not study.wraps or study.fitted is None:
        return []
    columns = (
        *(Column("pulley", left=True), Column("mean wrap"), *((Column("std. dev.", drop=1),) if full else ())),
        *(Column("19 of 20 between", drop=2), Column("min"), Column("chance to fall short")),
    )
    where = f"where {fitted_words(study)} puts the {adjuster_word(study.route.circuit)}"
    where = "as the pulleys stand" if study.windows is None else where
    rows = [
        [
            *(wrap.pulley, f"{wrap.mean_deg:.1f}", *((f"{wrap.deviation_deg:.2f}",) if full else ())),
            f"{wrap.band_deg[0]:.1f} to {wrap.band_deg[1]:.1f}",
            f"{wrap.minimum_deg:.0f}",
            percent(wrap.under),
        ]
        for wrap in study.wraps
    ]
    return [f"Wraps {where}, deg:", Table(columns, rows)]


def _measurements(study: Tolerance, full: bool) -> list[Block]:
    told = study.shares
    columns = (
        *(Column("measurement", left=True), Column("std. dev.", drop=1, decimals_mm=2)),
        *(Column("moves path", drop=2, decimals_mm=2), Column("of the variance")),
    )
    rows = [
        (
            study.words_of(row.measurement),
            row.measurement.deviation if row.measurement.unit == "mm" else f"{row.measurement.deviation:.3g} deg",
            row.deviation_mm,
            f"{100.0 * (row.share or 0.0):.1f} %",
        )
        for row in told[: _LONG if full else _SHORT]
    ]
    left = told[len(rows) :]
    share = sum(row.share or 0.0 for row in left)
    tail = [f"and {len(left)} more with {100.0 * share:.1f} % together"] if left else []
    return [Table(columns, rows), *tail] if rows else []


# How it was found.


def _how(study: Tolerance) -> tuple[str, ...]:
    layout = study.route.layout
    every, own, belt = deviations_of(layout), layout.uncertainty, layout.belt
    values = (
        (f"{every.position_mm:g} mm for each x, y and length", own.position_mm),
        (f"{every.diameter_mm:g} mm for each diameter", own.diameter_mm),
        (f"{every.angle_deg:g} deg for each angle", own.angle_deg),
    )
    told = ", ".join(f"{words} ({DEVIATIONS_SOURCE if given is None else 'given'})" for words, given in values)
    source = belt.profile.sources["tolerance_share"] if belt.tolerance_mm is None else "given"
    named = [pulley.name for pulley in study.route.pulleys if pulley.uncertainty.says_anything]
    told += f"; {', '.join(named)} with their own" * bool(named)
    return (
        f"Errors of measuring are normal and independent, one standard deviation each: {told}.",
        f"The belt's length tolerance is {belt.tolerance_of(study.route.length_mm):.1f} mm either way ({source}), "
        "every length in it as likely as any other. It can be fitted, and has room for wear, by the rules of `check`; "
        "so are gaps judged, with obstacles as the file has them.",
        BUYING,
        f"{study.draws} draws, seed {study.seed}: the same seed gives the same answer. What a measurement moves is "
        "told to first order, by one standard deviation.",
    )


# The tolerance study as JSON.

_Object = dict[str, Any]
_ENDS = ("shortest", "longest", "fitting")
"""What is told of the windows."""


def tolerance_json(study: Tolerance) -> str:
    """The study as one JSON object in plain ASCII, every number finite; what is unknown is null.

    mm, deg, chances and shares from 0 to 1.
    """
    told = {
        **head_of(study.route.layout),
        **fields_of(study, "draws", "seed"),
        "buy": None if study.best is None else study.best.designation,
        "nearest": None if study.nearest is None else study.nearest.designation,
        "chosen": None if study.chosen is None else study.chosen.designation,
        "length_line": study.route.layout.belt.profile.line_name,
        "ask_for_mm": study.route.to_ask_for_mm,
        "new_findings": [
            {"designation": each.designation, "findings": [finding_of(new) for new in against(study.plan, each.belt)]}
            for each in dict.fromkeys(filter(None, (study.best, study.foremost_chance)))
        ],
        "measure_again": None if study.measure_again is None else study.measure_again.words,
        "to_place": [{"name": name, "within_mm": room.at_least_mm} for name, room in _to_place(study).items()],
        "uncertainty": _uncertainty(study),
        "needed": _needed(study),
        "window": study.windows and {f"{name}_mm": _spread(getattr(study.windows, name)) for name in _ENDS},
        "no_path": study.no_path,
        "length_turns_back": study.turns_back,
        "travel_cut_short": study.cut,
        "belts": [
            {
                "designation": belt.designation,
                "length_mm": belt.line_mm,
                "chance_goes_on": belt.inside,
                "chance_with_reserves": belt.with_reserve,
                "chance_with_reserves_and_wraps": belt.wrapped,
                "reserve_19_of_20_mm": belt.reserve_mm,
            }
            for belt in study.belts
        ],
        "wraps": [_wrap(row) for row in study.wraps],
        "gaps": [_gap(row) for row in study.gaps],
        "measurements": [_measurement(row) for row in study.contributions],
        "caution": SAFETY,
    }
    return json_text(told)


def _wrap(row: WrapSpread) -> _Object:
    return {
        "name": row.pulley,
        "least_deg": row.minimum_deg,
        **fields_of(row, "mean_deg", "deviation_deg"),
        "95_percent_deg": row.band_deg,
        "chance_under_least": row.under,
    }


def _gap(row: GapChance) -> _Object:
    told = fields_of(row, "first", "second", "as_given_mm")
    return {**told, "least_mm": row.bound.limit, "chance_under_least": row.under}


def _uncertainty(study: Tolerance) -> _Object:
    every, own = deviations_of(study.route.layout), study.route.layout.uncertainty
    names = ("position_mm", "diameter_mm", "angle_deg")
    return {
        "meaning": "one standard deviation",
        **{name: getattr(every, name) for name in names},
        "sources": {name: DEVIATIONS_SOURCE if getattr(own, name) is None else "the layout file" for name in names},
        "belt_tolerance": "uniform over the band",
    }


def _needed(study: Tolerance) -> _Object:
    drawn = study.needed_mm
    return {
        "as_given_mm": study.route.needed_mm,
        "first_order_deviation_mm": study.first_order_mm,
        "drawn_mean_mm": float(drawn.mean()) if drawn.size else None,
        "drawn_deviation_mm": float(drawn.std()) if drawn.size else None,
        "drawn_95_percent_mm": study.needed_band_mm,
    }


def _spread(values: Floats) -> _Object:
    return {"mean": float(np.mean(values)), "deviation": float(np.std(values)), "95_percent": band(values)}


def _measurement(row: Contribution) -> _Object:
    return {
        "pulley": row.measurement.pulley,
        "measurement": row.measurement.part,
        **fields_of(row.measurement, "deviation", "unit"),
        "distribution": row.measurement.spread,
        "length_mm_per_unit": row.mm_per_unit,
        "length_deviation_mm": row.deviation_mm,
        "share_of_variance": row.share,
    }
