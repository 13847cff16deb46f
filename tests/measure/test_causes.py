"""One slip behind many readings, and one of two readings that are equally to blame."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.measure.readings import AXES, Direction, Distance, Measured, Offset
from beltplan.measure.study import Measuring, measuring_of
from beltplan.measure.words import answers
from tests.measure.drives import PLACES, angle, apart, every_pair, measured_of, taped

UP = Direction("crank", "fan", 0.5 * np.pi, 0.01)
LEVEL = ("crank", "compressor")
SEEN = {"alternator": ("right",), "pump": ("left",), "pivot": ("left", "above")}


def _drive(seed: int = 1, **more: object) -> Measured:
    tapes = taped(PLACES, every_pair(PLACES), np.random.default_rng(seed))
    return measured_of(PLACES, tapes, **more)


def _angles(*names: str, turn_deg: float = 0.0) -> tuple[Direction, ...]:
    right = (angle(PLACES, ("crank", name), None) for name in names)
    return tuple(replace(each, value_rad=each.value_rad + np.radians(turn_deg), line=9) for each in right)


def _offsets(*names: str) -> tuple[Offset, ...]:
    return tuple(
        Offset(name, "crank", axis, value, 1.0)
        for name in names
        for axis, value in zip(AXES, PLACES[name], strict=True)
    )


def _told(found: Measuring, lead: str) -> list[str]:
    return [words for each, words in answers(found) if each == lead]


def test_angles_from_plumb_that_only_the_sides_contradict() -> None:
    """The whole set is turned: every reading fits, no point lies where it is seen, and no reading is called misread."""
    found = measuring_of(_drive(directions=_angles("alternator", "pump", turn_deg=-90.0), sides=SEEN))
    (cause,) = _told(found, "CAUSE")
    assert cause.startswith(
        "`sides` and all readings agree if both angles (lines 9 and 9) were counted from straight up"
    )
    assert not found.sound and found.errors.gross_errors == () and _told(found, "SIDES") == []


def test_angles_from_plumb_that_offsets_contradict() -> None:
    offsets = _offsets("guide", "compressor")
    found = measuring_of(_drive(directions=_angles("alternator", "pump", turn_deg=-90.0), offsets=offsets))
    leads = [lead for lead, _ in answers(found)]
    assert leads.index("CAUSE") < leads.index("MISREAD")
    assert {each.reading.words for each in found.errors.gross_errors} == {
        "angle crank - alternator",
        "angle crank - pump",
    }
    off = np.abs(found.places - np.array([*PLACES.values()])).max()
    assert off < 4.0, "by the offsets alone"


def test_a_level_line_that_is_none_is_told_with_how_it_stands() -> None:
    """By trigonometry from the places from which all else was read."""
    offsets, directions = _offsets("guide", "compressor"), _angles("pump", "guide")
    wrong = _drive(level=("crank", "alternator"), offsets=offsets, directions=directions)
    (cause,) = _told(measuring_of(wrong), "CAUSE")
    begin, told, end = cause.partition(" deg, but `level` says that it is level")
    assert begin.startswith("by all the others crank - alternator stands at ") and told and "take `level` out" in end
    x, y = np.subtract(PLACES["alternator"], PLACES["crank"])
    assert float(begin.rpartition(" ")[2]) == pytest.approx(np.degrees(np.arctan2(y, x)), abs=0.5)
    assert _told(measuring_of(_drive(offsets=offsets, directions=directions)), "CAUSE") == []


def test_x_and_y_of_one_offset_exchanged() -> None:
    """One entry of the file explains all: it is told before three good angles that would have to be read otherwise."""
    x, y = PLACES["alternator"]
    wrong = tuple(
        replace(each, value_mm=value, line=62) for each, value in zip(_offsets("alternator"), (y, x), strict=True)
    )
    angles = _angles("alternator", "pump", "guide")
    found = measuring_of(_drive(directions=angles, offsets=wrong, sides={"compressor": ("right",)}))
    (cause,) = _told(found, "CAUSE")
    right = f"x: {x:g} mm, y: {y:g} mm"
    told = f"everything fits if x and y of alternator (line 62) are exchanged: write `alternator: {{{right}}}`"
    assert cause.startswith(told)
    assert {each.reading.words for each in found.errors.gross_errors} == {
        "x of alternator from crank",
        "y of alternator from crank",
    }
    off = np.abs(found.places - np.array([*PLACES.values()])).max()
    assert off < 6.0, "by the angles alone"


def test_every_left_and_right_seen_from_the_back() -> None:
    seen = {"alternator": ("left",), "pump": ("right",), "guide": ("above",)}
    found = measuring_of(_drive(offsets=_offsets("alternator", "pump"), sides=seen))
    assert not found.sound
    assert "every left and right of `sides` is the other way round" in _told(found, "SIDES")[0]


def test_one_of_two_that_nothing_else_tells_apart() -> None:
    """One tape read twice, 30 mm apart, and nothing else that knows: both are told, and to be measured again."""
    tapes = taped(PLACES, [pair for pair in every_pair(PLACES) if "pump" not in pair or pair[0] == "crank"], None)
    right = apart(PLACES, ("alternator", "pump"))
    twice = tuple(Distance("pump", "alternator", right + more, 1.0) for more in (0.0, 30.0))
    sides = {"guide": ("above",), "pump": ("left",)}
    found = measuring_of(measured_of(PLACES, (*tapes, *twice), level=LEVEL, sides=sides))
    (conflict,) = _told(found, "CONFLICT")
    assert "the others cannot tell which is wrong" in conflict and len(_told(found, "SUSPECT")) == 2
    (next_,) = _told(found, "NEXT")
    assert next_.startswith("measure pump - alternator (line 1) again")


def test_of_two_to_blame_the_one_that_a_tape_could_read_is_named() -> None:
    """One tape read twice, 340 and 34: without the other the rest fits with either, and only 34 has a slip."""
    places = {**PLACES, "fan": (0.0, 340.0)}
    tapes = taped(PLACES, every_pair(PLACES), None)
    fan = tuple(Distance("crank", "fan", float(written), 1.0, written=written) for written in ("340", "34"))
    sides = {"guide": ("above",), "fan": ("above",)}
    found = measuring_of(measured_of(places, (*tapes, *fan), directions=(UP, *_angles("alternator")), sides=sides))
    assert [each.error for each in found.errors.gross_errors] == pytest.approx([-306.0], abs=0.1)
    assert "340\N{NO-BREAK SPACE}mm, the decimal point misplaced" in _told(found, "MISREAD")[0]
    assert _told(found, "SUSPECT")[0].endswith("it may be this one instead")
    assert _told(found, "NEXT")[0].startswith("measure crank - fan "), "nothing is mended on paper that may be right"
