"""Two and three slips of different kinds in one set of an inch tape, one of them an angle from plumb: each is named.

The places are invented and stand beside the check; the readings are these with 0.02 in and 0.3 deg of chance.
"""

import math
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from beltplan.faults import LayoutFaults
from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.study import Measuring, measuring_of
from beltplan.measure.words import answers
from tests.for_each import mostly_long

AT_IN = {
    "crank": (0.0, 0.0), "low": (-6.6, -3.2), "high": (-5.4, -0.6), "hyd_pump": (-11.0, 3.6), "vac_pump": (-9.2, 13.1),
    "water_pump": (-1.2, 9.2), "alternator": (8.6, 14.2), "compressor": (10.8, 4.1), "dowel": (2.5, 6.0),
    "stud": (-4.5, 5.5),
}  # fmt: skip
SIDES = (
    "sides: {hyd_pump: above left, vac_pump: above left, compressor: above right, dowel: above right, "
    "stud: above left, low: below left}\n"
)
RIGHT = f"""\
units: in
distances:
  crank - low: 7 5/16
  crank - high: 5 7/16
  crank - hyd_pump: 11 5/8
  crank - vac_pump: 16
  crank - water_pump: 9 1/4
  crank - alternator: 16 9/16
  crank - compressor: 11 9/16
  hyd_pump - low: 8 1/8
  hyd_pump - high: 7
  hyd_pump - vac_pump: 9 5/8
  hyd_pump - water_pump: 11 5/16
  vac_pump - water_pump: 8 7/8
  vac_pump - alternator: 17.84
  water_pump - alternator: 11
  water_pump - compressor: 13 1/16
  alternator - compressor: 10 3/8
  low - high: 2 7/8
  water_pump - dowel: 4 7/8
  crank - dowel: 6 1/2
  compressor - dowel: 8 1/2
  water_pump - stud: 4 15/16
  crank - stud: 7 1/8
  hyd_pump - stud: 6 3/4
angles:
  crank - compressor: 20.2
  crank - water_pump: {{value: 7.4, from: plumb}}
  crank - alternator: 58.4
{SIDES}"""
PLUMB = ("{value: 7.4, from: plumb}", "7.4", "angle crank - water_pump", "counted from straight up")
SWAPPED = ("17.84", "18.74", "vac_pump - alternator", "17.84 in, two digits swapped")
METRIC = ("11 9/16", "293.7", "crank - compressor", "write 293.7 mm")


def _found(folder: Path, text: str) -> Measuring:
    path = folder / "m.yaml"
    path.write_text(text, encoding="utf-8")
    return measuring_of(read_measurements(str(path)).measured)


def _told(found: Measuring, lead: str) -> list[str]:
    return [words.replace("\N{NO-BREAK SPACE}", " ") for each, words in answers(found) if each == lead]


@pytest.mark.parametrize(
    "slips", mostly_long([((METRIC,),), ((PLUMB, SWAPPED),), ((PLUMB, METRIC),), ((PLUMB, METRIC, SWAPPED),)], 0, 1, 2)
)
def test_each_slip_is_named_and_the_places_are_right(slips: tuple[tuple[str, ...], ...], tmp_path: Path) -> None:
    text = RIGHT
    for right, wrong, _, _ in slips:
        text = text.replace(right, wrong)
    found = _found(tmp_path, text)
    misread = {each.reading.words: words for each, words in zip(found.errors.gross_errors, _told(found, "MISREAD"),
                                                                strict=True)}  # fmt: skip
    assert set(misread) == {name for _, _, name, _ in slips}
    assert all(words in misread[name] for _, _, name, words in slips)
    assert _told(found, "SIDES") == [] and not found.unseen
    assert np.abs(found.places / 25.4 - np.array([AT_IN[centre.name] for centre in found.centres])).max() < 0.2


def test_what_no_side_agrees_with_is_not_sold_as_sure(tmp_path: Path) -> None:
    """Words of `sides` that cannot hold, and a misread tape: nothing is blamed, no word of `sides` is asked for."""
    wrong = SIDES.replace("hyd_pump: above left, vac_pump: above left", "hyd_pump: below right, vac_pump: below right")
    found = _found(tmp_path, RIGHT.replace("17.84", "18.74").replace(SIDES, wrong))
    assert found.unseen and found.errors.gross_errors == ()
    assert SWAPPED[2] in {each.reading.words for each in found.errors.suspects}
    (words,) = _told(found, "FOUND")
    assert "do not use these places yet" in words and "or better" not in words
    assert _told(found, "MIRROR") == [] and len(_told(found, "SIDES")) == 1


def test_what_would_explain_each_suspect_is_told(tmp_path: Path) -> None:
    """Invented places in mm, distances by Pythagoras: 204.5 is written 240.5 where three tapes hold the idler."""
    at = {"crank": (0.0, 0.0), "alternator": (236.0, 301.0), "hydraulic": (-231.0, 118.0), "idler": (204.5, 0.0)}
    tapes = {f"{one} - {two}": f"{math.dist(at[one], at[two]):.1f}" for one, two in combinations(at, 2)}
    tapes["crank - idler"] = "240.5"
    text = "level: [crank, idler]\ndiameters: {idler: 76}\nsides: {alternator: above right, hydraulic: above left}\n"
    found = _found(tmp_path, text + "distances:\n" + "".join(f"  {pair}: {mm}\n" for pair, mm in tapes.items()))
    suspects = {each.partition(",")[0]: each for each in _told(found, "SUSPECT")}
    assert "it would fit if it was 204.5 mm, two digits swapped" in suspects["crank - idler"]
    assert "taken to the near rim of idler" in suspects["hydraulic - idler"]


ROUND_AT_MM = {
    "crank": (0.0, 0.0), "water_pump": (-9.4, 207.7), "steering": (83.6, 363.2), "conditioner": (213.3, 313.8),
    "idler": (161.7, 94.6), "slide.from": (-116.8, 221.9), "slide.to": (-150.3, 251.4),
}  # fmt: skip
ROUND_RIMS_MM = {"crank": 151.6, "steering": 125.6, "conditioner": 121.4, "idler": 85.6}


def test_a_misread_string_blames_no_rim_that_would_be_less_than_nothing(tmp_path: Path) -> None:
    """Two tapes exchanged, and a string of 1,349 mm written 1154: without the crank's rim of calipers all would fit
    but for a rim of -27 mm. The places are invented, the distances follow by Pythagoras, rounded to a tape's mm.
    """
    apart = {
        (one, two): round(math.dist(ROUND_AT_MM[one], ROUND_AT_MM[two])) for one, two in combinations(ROUND_AT_MM, 2)
    }
    first, second = ("crank", "slide.from"), ("crank", "slide.to")
    apart[first], apart[second] = apart[second], apart[first]
    text = "accuracy: {diameter_mm: 0.1}\ndistances:\n" + "".join(
        f"  {a} - {b}: {mm}\n" for (a, b), mm in apart.items()
    )
    text += "angles: {crank - conditioner: 55.8, crank - steering: 77}\n"
    text += "diameters:\n" + "".join(f"  {name}: {mm}\n" for name, mm in ROUND_RIMS_MM.items())
    text += f"loops: {{cord: {{length: 1154, along: middle, thickness: 5, pulleys: [{', '.join(ROUND_RIMS_MM)}]}}}}\n"
    text += "sides: {water_pump: above, steering: above right, idler: right, slide.from: above left}\n"
    found = _found(tmp_path, text)
    blamed = {each.reading.words for each in found.errors.gross_errors}
    assert blamed == {"crank - slide.from", "crank - slide.to", "loop cord"} and found.errors.suspects == ()
    assert np.abs(found.places - np.array([ROUND_AT_MM[centre.name] for centre in found.centres])).max() < 1.5


def test_a_slide_left_out_is_one_fault(tmp_path: Path) -> None:
    pulleys = "pulleys:\n  tensioner: {role: tensioner, diameter: 3}\n" + "".join(
        f"  {name}: {{role: {'crankshaft' if name == 'crank' else 'other'}, diameter: 3}}\n"
        for name in AT_IN
        if name not in ("low", "high", "dowel", "stud")
    )
    text = RIGHT.replace("low", "tensioner.from").replace("high", "tensioner.to") + "marks: [dowel, stud]\n" + pulleys
    text = text.replace("betensioner.from", "below")
    with pytest.raises(LayoutFaults) as refused:
        _found(tmp_path, text)
    faults = [fault for fault in refused.value.faults if "tensioner" in f"{fault.key} {fault.got}"]
    assert [(fault.key, fault.allowed) for fault in faults] == [
        ("pulleys.tensioner.slide", "`slide: {}`, since tensioner.from is measured")
    ]
