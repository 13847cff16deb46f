"""A map of places as JSON: fixed keys, unknown values null, every number finite; mm, %, shares of a limit."""

from __future__ import annotations

from typing import Any

from beltplan.report.json_lines import json_text
from beltplan.report.json_result import finding_of
from beltplan.report.words import CAUTION, verdict_of
from beltplan.studies import place
from beltplan.studies.place_gaps import MEASURED
from beltplan.studies.place_map import RULE, Place, PlaceMap
from beltplan.studies.place_pair import PairSearch
from beltplan.studies.place_proof import BestPlace, Proof

Object = dict[str, Any]


def place_json(found: PlaceMap, best: BestPlace | None) -> str:
    """The result of a map as one JSON object in plain ASCII."""
    x, y, names = found.grid.x_mm, found.grid.y_mm, (found.pulley,)
    return json_text(
        {
            "title": found.layout.title,
            "variant": found.layout.variant,
            "pulley": found.pulley,
            "bounds_mm": {"x": [float(x[0]), float(x[-1])], "y": [float(y[0]), float(y[-1])]},
            "step_mm": found.grid.step_mm,
            "rows": len(y),
            "columns": len(x),
            "counts": found.counts,
            "present": _place(names, found.present),
            "nearest_without_problem": _nearest(names, found.nearest(place.CAUTION)),
            "nearest_without_caution": _nearest(names, found.nearest(place.SOUND)),
            "best": None if best is None else _proof(names, best.proof) | {"checked_in_full": best.tried},
            "best_by_belt": [_place(names, at) for at in found.best_by_belt],
            **_words(),
        }
    )


def pair_json(title: str, variant: str | None, found: PairSearch, proof: Proof | None) -> str:
    """The result of a search for two places as one JSON object in plain ASCII."""
    return json_text(
        {
            "title": title,
            "variant": variant,
            "pulleys": list(found.names),
            "bounds_mm": {"x": [found.low[0], found.high[0]], "y": [found.low[1], found.high[1]]},
            "seed": found.seed,
            "draws": found.draws,
            "counts": found.counts,
            "present": _place(found.names, found.present),
            "best": None if proof is None else _proof(found.names, proof),
            **_words(),
        }
    )


def _words() -> Object:
    return {"rule": RULE, "gaps_measured_to_times_limit": MEASURED, "caution": CAUTION}


def _place(names: tuple[str, ...], at: Place) -> Object:
    return {
        "at_mm": {name: list(own) for name, own in zip(names, at.at_mm, strict=True)},
        "verdict": at.verdict,
        "belt": at.belt,
        "adjuster_position": at.position,
        "reserve_mm": at.reserve_mm,
        "take_up_percent": at.take_up_percent,
        "clearance_mm": at.clearance_mm,
        "strand_gap_mm": at.strand_gap_mm,
        "rim_gap_mm": at.rim_gap_mm,
        "slip_wet": at.slip_wet,
        "margin": at.margin,
        "own_margin": at.own_margin,
        "margin_of": at.margin_of,
    }


def _nearest(names: tuple[str, ...], found: tuple[Place, float] | None) -> Object | None:
    return None if found is None else _place(names, found[0]) | {"distance_mm": found[1]}


def _proof(names: tuple[str, ...], proof: Proof) -> Object:
    return _place(names, proof.place) | {
        "check": verdict_of(proof.findings),
        "findings": [finding_of(finding) for finding in proof.findings],
    }
