"""Places of a map held against everything that `check` looks at: slip, every setting of the travel, and the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.route import Route, route_of
from beltplan.belts.routing import NoBeltPath
from beltplan.checks.every_check import findings_of
from beltplan.checks.finding import Finding
from beltplan.studies.place_map import Place, PlaceMap, place_of
from beltplan.studies.place_mover import moved
from beltplan.tension.operation import operation_of

TRIES = 24
"""Places that are checked in full, best first, until one passes."""
APART_STEPS = 3.0
"""A place so near one that did not pass is passed over."""


@dataclass(frozen=True, eq=False)
class Proof:
    """A place with all that `check` finds there."""

    place: Place
    route: Route
    findings: tuple[Finding, ...]

    def count(self, severity: str) -> int:
        """How many findings are of a severity."""
        return sum(finding.severity == severity for finding in self.findings)


@dataclass(frozen=True, eq=False)
class BestPlace:
    """The best place of a map. tried: how many places were checked in full to find it; passed: whether it is free of
    problems in full.
    """

    proof: Proof
    tried: int

    @property
    def passed(self) -> bool:
        """Whether `check` finds no problem there."""
        return not self.proof.count("problem")


def proof_of(layout: Layout, names: Sequence[str], place: Place) -> Proof | None:
    """Check a place in full; None where there is no belt path."""
    try:
        route = route_of(moved(layout, names, place.at_mm))
    except NoBeltPath:
        return None
    return Proof(place, route, findings_of(route, operation_of(route)))


def best_place(found: PlaceMap) -> BestPlace | None:
    """The first place, by the rule of the map, in which a full check finds no problem; of at most `TRIES`.

    Where none passes, the one with the fewest problems. None where the map has no place without a problem.
    """
    left, best, tried = found.working(), None, 0
    while len(left) and tried < TRIES:
        proof = proof_of(found.layout, (found.pulley,), place_of(found.judged, int(left[0])))
        tried += 1
        if proof is not None and (best is None or proof.count("problem") < best.count("problem")):
            best = proof
            if not proof.count("problem"):
                break
        step = found.judged.places[left, 0] - found.judged.places[left[0], 0]
        left = left[np.hypot(step[:, 0], step[:, 1]) > APART_STEPS * found.grid.step_mm]
    return None if best is None else BestPlace(best, tried)
