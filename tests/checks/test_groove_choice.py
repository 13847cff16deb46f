"""In which grooves the belt lines up best: against every choice there is, tried one by one. Drives invented."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from beltplan.checks.alignment import best_grooves
from beltplan.drive.layout import Layout
from beltplan.drive.route import Route, route_of
from tests.checks.drives import layout, pulley
from tests.cli.running import Runner
from tests.for_each import for_each

PITCH_MM = 3.56
"""Groove pitch of PK: ISO 9982:2021, table 2."""
CAUTION_DEG = 0.33
"""SAE 1999-01-1709, abstract: guideline."""


def drive(seed: int) -> Layout:
    """Five pulleys round a circle, some of up to three grooves more than the belt's six ribs."""
    rng = np.random.default_rng(seed)
    turns = 2.0 * np.pi * np.arange(5) / 5 + rng.uniform(0.0, 0.3, 5)
    grooves = rng.integers(6, 10, 5)
    return layout(
        *(
            pulley(
                *(f"p{i}", "alternator" if i else "crankshaft", -250.0 * math.cos(at), 250.0 * math.sin(at)),
                plane_mm=float(rng.uniform(-8.0, 8.0)),
                grooves=int(grooves[i]),
                first_groove_used=int(rng.integers(1, grooves[i] - 4)),
                tilt_deg=tuple(rng.normal(0.0, 0.1, 2).tolist()),
            )
            for i, at in enumerate(turns)
        )
    )


def squares(laid: Route, firsts: dict[str, int]) -> float:
    """The sum over all spans of the entry angle's square, each the worse of its ends: plane geometry."""
    total = 0.0
    for (start, end), span, along in zip(laid.spans, laid.loop.span, laid.loop.direction, strict=True):
        planes = [(p.plane_mm or 0.0) + PITCH_MM * (firsts[p.name] - p.first_groove_used) for p in (start, end)]
        run = math.degrees(math.atan((planes[1] - planes[0]) / span))
        total += max(abs(run - float(np.dot(p.tilt_deg, along))) for p in (start, end)) ** 2
    return total


@for_each(*range(5), 59)  # of the last, cubes would choose otherwise
def test_no_choice_is_better(seed: int) -> None:
    given = drive(seed)
    laid = route_of(given)
    ways = {name: range(1, (p.grooves or 0) - 6 + 2) for name, p in given.pulleys.items()}
    every = [dict(zip(ways, way, strict=True)) for way in product(*ways.values())]
    present = {name: p.first_groove_used for name, p in given.pulleys.items()}
    chosen = present | best_grooves(laid)
    assert len(every) > 1 and chosen in every
    assert squares(laid, chosen) == pytest.approx(min(squares(laid, way) for way in every))


def test_where_nothing_is_better_nothing_is_told() -> None:
    """All in one plane, the belt stays: also where all could be moved by a groove alike."""
    given = drive(0)
    flat = {name: replace(p, plane_mm=1.0, grooves=8, tilt_deg=(0.0, 0.0)) for name, p in given.pulleys.items()}
    assert best_grooves(route_of(replace(given, pulleys=flat))) == {}
    narrow = {name: replace(p, grooves=6, first_groove_used=1) for name, p in given.pulleys.items()}
    assert best_grooves(route_of(replace(given, pulleys=narrow))) == {}


TEXT = """\
belt: 6PK930
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 100, grooves: 8, plane: {stack: {hub: 20}, to: first_groove}}
  far:
    role: alternator
    diameter: 100
    grooves: 6
    slide: {from: [290, 0], to: [340, 0]}
    plane: {stack: {bracket: 19, spacer: 8.12}, to: face, face_to_first_groove: 0}
route: [crank, far]
"""


def test_the_card_names_the_grooves_and_what_is_left(run: Runner, here: Path) -> None:
    """19 + 8.12 is 27.12, two pitches of 3.56 from the crankshaft's first groove at 20."""
    Path("drive.yaml").write_text(TEXT)
    told = " ".join(run("fit", "drive.yaml").out.split())
    assert "LINE UP move far 7.12 mm (0.280 in) toward the engine" in told
    assert (
        "GROOVES it lines up best in grooves 3 to 8 of crank, counted from the engine (`first_groove_used: 3`)" in told
    )
    assert "then nothing is to be moved" in told
    Path("better.yaml").write_text(TEXT.replace("to: first_groove}", "to: first_groove}, first_groove_used: 3"))
    told = " ".join(run("fit", "better.yaml").out.split())
    assert "nothing to move" in told and "GROOVES" not in told
    Path("off.yaml").write_text(TEXT.replace("8.12", "12.12"))
    assert "then move only far 4.00 mm (0.157 in) toward the engine" in " ".join(run("fit", "off.yaml").out.split())
