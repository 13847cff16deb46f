"""The fitter's card as one JSON object: always mm, deg, N, Nm and Hz; what is unknown is null."""

from __future__ import annotations

from typing import Any

from beltplan.checks.card import STEP_MM, Card, HubPull, Pointer, PuttingOn
from beltplan.checks.plan import toward_deg
from beltplan.checks.tensioning import Level, Tensioning
from beltplan.report.words import SAFETY, head_of, json_text

_Object = dict[str, Any]


def card_json(card: Card) -> str:
    """The card as JSON text in plain ASCII.

    title, variant, verdict, units, belt: as those of `check`; belt is the designation alone.
    line_up: common_plane_mm, and for each of `pulleys` name, plane_mm (null: not measured), off_mm the common plane,
    and move_mm, 0 where it stays, + toward the viewer; tilt_deg [along x, along y], and whether to set_square its face;
    first_groove_used, and best_first_groove, in which it lines up best.
    route: [{name, belt_side}] in the belt's travel, with `turns` of the loop, seen from the front.
    fitting (null without an adjuster): adjuster, kind, last_over, needs_mm, has_mm, at and short in `unit` deg or mm,
    and spring_Nm or spring_N there.
    pointer (null without an adjuster, and where no belt fits): at, short, long, marks {new, worn}, radius_mm,
    past_new_mm and to_worn_mm along its rim, shorter and longer for a belt of step_mm less or more, and take_up_mm for
    one `unit`.
    tension: null, with not_known in words, or span {from, to, length_mm}, press_N, gentle_N, stretch_known, not_by_ear
    [{from, to, length_mm}], and levels [{name, tension_N, rib_N, tension_lbf, deflection_mm, tone_Hz, source}].
    hubs: [{name, stopped_N [x, y], highest_N [x, y], pull_N, high_end_N, toward_deg, rpm (null: stopped), overhang_mm,
    moment_Nm, high_end_Nm, max_moment_Nm}].
    high_end: at the high end of the tension.
    """
    return json_text(
        {
            **head_of(card.plan.layout, card.plan.verdict),
            "belt": card.plan.route.designation,
            "line_up": _line_up(card),
            "turns": "clockwise" if card.plan.route.circuit.turning < 0 else "counterclockwise",
            "route": [{"name": row.name, "belt_side": row.pulley.belt_side} for row in card.plan.pulleys],
            "fitting": None if card.putting_on is None else _fitting(card, card.putting_on),
            "pointer": None if card.pointer is None else _pointer(card.pointer),
            "not_known": card.not_known,
            "tension": None if card.tension is None else _tension(card.tension),
            "hubs": [_hub(hub) for hub in card.hubs],
            "caution": SAFETY,
        }
    )


def _line_up(card: Card) -> _Object:
    rows = [
        {
            "name": pulley.name,
            "plane_mm": pulley.plane_mm,
            "off_mm": (pulley.plane_mm or 0.0) - card.common_plane_mm,
            "move_mm": card.shims_mm.get(pulley.name, 0.0),
            "first_groove_used": pulley.first_groove_used,
            "best_first_groove": card.grooves.get(pulley.name, pulley.first_groove_used),
            "tilt_deg": list(pulley.tilt_deg),
            "set_square": pulley in card.tilted,
        }
        for pulley in card.plan.route.pulleys
    ]
    return {"common_plane_mm": card.common_plane_mm, "pulleys": rows}


def _fitting(card: Card, on: PuttingOn) -> _Object:
    is_arm = card.adjuster is not None and card.adjuster.is_arm
    return {
        "adjuster": on.pulley,
        "kind": "arm" if is_arm else "slide",
        "last_over": on.last_over,
        "needs_mm": on.needs_mm,
        "has_mm": on.has_mm,
        "unit": "deg" if is_arm else "mm",
        "at": on.at,
        "short": on.short,
        "spring_Nm" if is_arm else "spring_N": on.effort,
    }


def _pointer(pointer: Pointer) -> _Object:
    past, left = pointer.past_first, pointer.to_last
    marked = pointer.marks is not None
    return {
        "unit": pointer.unit,
        "at": pointer.at,
        "short": pointer.ends[0],
        "long": pointer.ends[1],
        "marks": None if pointer.marks is None else {"new": pointer.marks[0], "worn": pointer.marks[1]},
        "radius_mm": pointer.radius_mm,
        "past_new_mm": pointer.along_rim_mm(past) if marked else None,
        "to_worn_mm": pointer.along_rim_mm(left) if marked else None,
        "step_mm": STEP_MM,
        "shorter": pointer.shorter,
        "longer": pointer.longer,
        "take_up_mm": pointer.take_up_mm,
    }


def _tension(tension: Tensioning) -> _Object:
    return {
        "span": _span(*tension.span, tension.span_mm),
        "press_N": tension.press_N,
        "gentle_N": tension.gentle_N,
        "stretch_known": tension.stretch_known,
        "not_by_ear": [_span(*each) for each in tension.short],
        "levels": [_level(level) for level in tension.levels],
    }


def _span(start: str, end: str, length_mm: float) -> _Object:
    return {"from": start, "to": end, "length_mm": length_mm}


def _level(level: Level) -> _Object:
    return {
        "name": level.name,
        "tension_N": level.each_N,
        "rib_N": level.rib_N,
        "tension_lbf": level.each_lbf,
        "deflection_mm": level.deflection_mm,
        "tone_Hz": level.hertz,
        "source": level.source,
    }


def _hub(hub: HubPull) -> _Object:
    moment, high = hub.moments_Nm or (None, None)
    return {
        "name": hub.pulley.name,
        "stopped_N": hub.stopped_N.tolist(),
        "highest_N": hub.highest_N.tolist(),
        "pull_N": hub.size_N,
        "high_end_N": hub.high_N,
        "toward_deg": toward_deg(hub.highest_N),
        "rpm": hub.rpm,
        "overhang_mm": hub.pulley.overhang_mm,
        "moment_Nm": moment,
        "high_end_Nm": high,
        "max_moment_Nm": hub.pulley.max_moment_Nm,
    }
