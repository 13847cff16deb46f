"""From what was heard to the causes of this layout, most likely first."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import get_args

from beltplan.checks.alignment import MISALIGNMENT
from beltplan.checks.belt import TAKE_UP
from beltplan.checks.clearance import CLEARANCE, RIM_GAP, SPAN_GAP
from beltplan.checks.doubts import DOUBT
from beltplan.checks.limits import Check
from beltplan.checks.plan import Plan
from beltplan.checks.pulleys import GROOVES, SMALL_PULLEY, WRAP
from beltplan.checks.resonance import RESONANCE
from beltplan.checks.shaking import ARM_TRAVEL, DRIVE_RESONANCE, SWING_SLIP, TENSION_SWING
from beltplan.checks.slip import SLIP, SLIP_ON_REVS
from beltplan.checks.tension import SPRING
from beltplan.drive.belt import Belt
from beltplan.drive.inertias import inertia_kgm2
from beltplan.drive.pulleys import Pulley
from beltplan.drive.shaking import why_not_shaken
from beltplan.squeal import readings, shaken, slipping
from beltplan.squeal.readings import WORDS, Heard, Read, Reading, Water, Word

WATERS: tuple[Water, ...] = get_args(Water)


@dataclass(frozen=True, eq=False)
class Cause:
    """One cause of noise. Which words it fits, and what water does to it, is common practice, no source.

    name: in JSON. title: what its number is of. checks: those that judge by its number, none
    where only this command does. read: that number at every place.
    decimals: of it on a screen. fits: when it is heard. water: what plain water on its running side does to it. test:
    what tells it from its neighbours. missing: which keys to give where it cannot be judged. slips: whether its number
    is a use of grip.
    """

    name: str
    title: str
    checks: tuple[Check, ...]
    read: Read
    decimals: int
    fits: tuple[Word, ...]
    water: Water
    test: str
    missing: Callable[[Plan], Sequence[str]] = lambda plan: ()
    slips: bool = False


# What must be given before a cause is judged.


def _driven(plan: Plan) -> list[Pulley]:
    return [pulley for pulley in plan.route.pulleys[1:] if not pulley.guides_only]


def _give(keys: Sequence[str]) -> list[str]:
    return [f"give {', '.join(keys)}"] if keys else []


def _tension(plan: Plan) -> list[str]:
    return [] if plan.not_judged is None else [plan.not_judged]


def _loads(plan: Plan) -> list[str]:
    return _tension(plan) + _give([f"pulleys.{pulley.name}.load" for pulley in _driven(plan) if pulley.load is None])


def _revs(plan: Plan) -> list[str]:
    lacking = [] if plan.layout.engine.rev_up_rpm_per_s is not None else ["engine.rev_up_rpm_per_s"]
    lacking += [f"pulleys.{pulley.name}.inertia_kgm2" for pulley in _driven(plan) if inertia_kgm2(pulley) is None]
    return _tension(plan) + _give(lacking)


def _planes(plan: Plan) -> list[str]:
    return _give([f"pulleys.{pulley.name}.plane" for pulley in plan.route.pulleys if pulley.plane_mm is None])


def _cylinders(plan: Plan) -> list[str]:
    lacking = plan.layout.engine.cylinders is None
    return _tension(plan) + ["give engine.cylinders: the firing shakes the belt too"] * lacking


def _shaking(plan: Plan) -> list[str]:
    lacking = why_not_shaken(plan.route)
    return _tension(plan) + ([] if lacking is None else [lacking])


def _spring(plan: Plan) -> list[str]:
    return _tension(plan) if plan.adjuster is not None and plan.adjuster.sprung else []


def _groove_counts(plan: Plan) -> list[str]:
    pulleys = plan.route.pulleys if plan.layout.belt.profile.is_ribbed else ()
    return _give([f"pulleys.{each.name}.grooves" for each in pulleys if each.grooves is None and not each.on_back])


# The causes of noise that a layout can show, and what no layout can know.

_SLIPS = (SLIP, SLIP_ON_REVS)
_LOADED: tuple[Word, ...] = ("cold", "wet", "idle", "revving", "letting_off", "full_load")

CAUSES: tuple[Cause, ...] = (
    Cause(
        *("slip_wet", "slip when wet", (SLIP,), partial(slipping.steady, condition="wet"), 2),
        *(("cold", "wet", "idle", "full_load"), "louder"),
        "Louder with water. Engine idling, switch the loads off one by one: it stops with the load that slips.",
        *(_loads, True),
    ),
    Cause(
        *("slip_dry", "slip when dry", (SLIP,), partial(slipping.steady, condition="dry"), 2),
        *(("cold", "wet", "hot", "idle", "full_load", "always"), "louder"),
        "Heard on a dry, warm belt too, as long as the load lasts. Switch the loads off one by one.",
        *(_loads, True),
    ),
    Cause(
        *("slip_low", "slip by a weak spring", _SLIPS, slipping.low_spring, 2),
        *(_LOADED, "louder"),
        "Comes and goes. Engine off, key out: swing the tensioner with a bar and let it back; it must not stick.",
        slips=True,
    ),
    Cause(
        *("run_in", "slip of a run-in belt", _SLIPS, slipping.run_in, 2),
        *(_LOADED, "louder"),
        "It grew after the belt was set. Engine off: press or pluck its longest span as `beltplan fit` says.",
        slips=True,
    ),
    Cause(
        *("set_slack", "belt set slack", (DOUBT,), slipping.set_slack, 0),
        *(_LOADED, "louder"),
        "Engine off: press or pluck its longest span as `beltplan fit` says, set it to the usual tension: it is quiet.",
    ),
    Cause(
        *("slip_revving", "slip on revving", (SLIP_ON_REVS,), partial(slipping.on_revs, when="speeds up"), 2),
        *(("cold", "wet", "revving"), "louder"),
        "Out of gear, raise the revs in one go: it chirps while they rise and is quiet at a steady speed.",
        *(_revs, True),
    ),
    Cause(
        *("slip_letting_off", "slip on letting off", (SLIP_ON_REVS,), partial(slipping.on_revs, when="slows down"), 2),
        *(("cold", "wet", "letting_off"), "louder"),
        "Out of gear, hold the revs up and let off at once: it chirps as they fall, not as they rise.",
        *(_revs, True),
    ),
    Cause(
        *("swing_slip", "slip as the engine fires", (SWING_SLIP,), shaken.swung_slips, 2),
        *(("cold", "wet", "idle", "revving", "letting_off"), "louder"),
        "Louder with water. Hold the engine at the speed told: it squeals or rattles there; well off it, it is quiet.",
        *(_shaking, True),
    ),
    Cause(
        *("slip_poor_grip", "slip where grip is poor", _SLIPS, slipping.poor_grip, 2),
        *(_LOADED, "louder"),
        "Engine off: belt or rims glazed, dusty, oily or old? Clean the rims and try a new belt: it is quiet for long.",
        *(_loads, True),
    ),
    Cause(
        *("wrap", "wrap", (WRAP,), readings.wraps, 1),
        *(_LOADED, "louder"),
        "Louder with water. Engine off after a run: the rim that slipped is the hottest (infrared thermometer).",
    ),
    Cause(
        *("misalignment", "alignment", (MISALIGNMENT,), readings.misalignments, 2),
        *(("cold", "hot", "idle", "always"), "quieter"),
        "Quieter with water for a moment, then back; no load changes it. Engine off: a straightedge across both faces.",
        _planes,
    ),
    Cause(
        *("stop", "travel to a stop", (SPRING,), readings.stops, 0),
        *(WORDS, "louder"),
        "Engine off, key out: see where the tensioner stands, then move it with a bar: it must go both ways.",
        _spring,
    ),
    Cause(
        *("take_up", "take-up", (TAKE_UP,), readings.take_up, 0),
        *(("hot", "revving", "letting_off", "full_load"), "louder"),
        "Sprung: seen from the side, clear of the belt, it swings wide as a load comes on. Hand-set: it soon is loose.",
    ),
    Cause(
        *("resonance", "resonance of a span", (RESONANCE,), shaken.resonances, 0),
        *(("idle",), "same"),
        "From the side, clear of the belt: this span blurs at idle and stands still 100 rpm higher.",
        _cylinders,
    ),
    Cause(
        *("drive_resonance", "slack as the engine fires", (TENSION_SWING,), shaken.swings, 0),
        *(("idle", "revving", "letting_off"), "same"),
        "From the side, clear of the belt:",
        _shaking,
    ),
    Cause(
        *("first_mode", "resonance of the drive", (DRIVE_RESONANCE,), shaken.first_mode, 0),
        *(("idle", "revving", "letting_off", "full_load"), "same"),
        "Raise the revs slowly:",
        _shaking,
    ),
    Cause(
        *("arm_travel", "swung against its stop", (ARM_TRAVEL,), shaken.arm_swings, 1),
        *(("idle", "revving", "letting_off"), "same"),
        "It knocks at one speed. Engine off: bright marks on the tensioner's stop.",
        lambda plan: _shaking(plan) if plan.adjuster is not None and plan.adjuster.sprung else [],
    ),
    Cause(
        *("rubbing", "rubbing", (CLEARANCE, SPAN_GAP, RIM_GAP), readings.gaps, 1),
        *(("idle", "revving", "letting_off", "full_load", "always"), "same"),
        "Engine off: rub marks or rubber dust? Chalk the spot and run: what rubs has wiped it off.",
    ),
    Cause(
        *("small_pulley", "small pulley", (SMALL_PULLEY,), readings.sizes, 1),
        *(("cold", "always"), "same"),
        "Worst with a cold, stiff belt; neither water nor load changes it.",
    ),
    Cause(
        *("grooves", "grooves", (GROOVES,), readings.grooves, 0),
        *(("cold", "hot", "idle", "full_load", "always"), "quieter"),
        "Engine off: look at the belt's edge; a rib hangs over the rim, or is worn on one side.",
        _groove_counts,
    ),
)
"""Every cause that a layout can show."""

_LOOK_FOR: tuple[tuple[str, str], ...] = (
    ("glazing", "flanks that shine like glass have slipped: renew the belt once the cause is gone"),
    ("oil or coolant", "wet, swollen or sticky rubber: mend the leak, clean the rims, renew the belt"),
    ("seized bearing", "belt off, turn every pulley by hand: a rough, stiff or wobbling one is it"),
)
_WORN = (
    ("worn rib", "ribs cut to points, cracked across or torn: renew the belt, look for a damaged groove"),
    ("worn flanks", "the belt lies low in its groove or on a shiny bottom: renew it; a dished groove, the pulley too"),
)


def look_for(belt: Belt) -> tuple[tuple[str, str], ...]:
    """What no layout can know, and how it shows with the engine off."""
    rib, flanks = _WORN
    return (*_LOOK_FOR, rib if belt.profile.is_ribbed else flanks)


WATER_TEST = (
    "Engine idling, guards on, hair and sleeves tied back. From an arm's length, let a little plain water from a "
    "bottle onto the inside of the running belt. Never reach in; keep water off alternator, fan and hot parts. Louder "
    "means slip; quieter for a moment, alignment; the same, neither"
)


# What is heard weighed against the causes.

RULE = (
    "Most likely first: what fits what was heard, then what a check finds for sure, problems first, then what lies "
    "nearest to its limit. A wrap stands behind where the pulley's own slip is known, slip on revs where it slips, "
    "or uses more, steadily, and last what is ruled out. Of a noise at idle, on revving or on letting off, slip and "
    "shaking are those of that moment"
)
_FAR = 0.35
"""What misses only a recommended value by little, that far inside its limit, is told but is no likely cause: common
practice, no source.
"""
_SAME = 9
"""Decimals of a margin by which places are told apart: what rounding makes of equal ones orders nothing."""


@dataclass(frozen=True, eq=False)
class Weighed:
    """A cause at one place: its number, and what of that which was heard it does not fit."""

    cause: Cause
    reading: Reading
    unfit: tuple[str, ...]

    @property
    def test(self) -> str:
        return f"{self.cause.test} {self.reading.proof}".rstrip()

    @property
    def near(self) -> bool:
        return bool(self.reading.severity) and not self.reading.by_design

    @property
    def unsure(self) -> bool:
        """Beyond its limit by what is assumed: its check only notes it, or goes by less grip than a clean belt has."""
        return not self.near and self.reading.margin < 0.0

    @property
    def worth_telling(self) -> bool:
        return self.near or self.unsure or self.reading.faster

    @property
    def fits(self) -> tuple[Word, ...]:
        """When it is heard here."""
        return tuple(word for word in self.cause.fits if word not in self.reading.never)


@dataclass(frozen=True, eq=False)
class Squealing:
    """The answer: every cause at every place, most likely first, and what is not judged.

    command: the words that name the layout for another command.
    """

    plan: Plan
    heard: Heard
    command: str
    weighed: tuple[Weighed, ...]

    @cached_property
    def nearest(self) -> tuple[Weighed, ...]:
        """Of every cause the first place."""
        first: dict[str, Weighed] = {}
        for each in self.weighed:
            first.setdefault(each.cause.name, each)
        return tuple(first.values())

    @cached_property
    def telling(self) -> tuple[Weighed, ...]:
        """Those of which a check has something to say, and of every other cause the nearest place."""
        return tuple(
            each for each in self.weighed if each.reading.severity or each.reading.faster or each in self.nearest
        )

    @property
    def likely(self) -> Weighed | None:
        """The first that fits and of which its check has something to say, not far from its limit; a wrap is none
        where slip is known.
        """
        first = next(iter(self.weighed), None)
        if first is None or not first.near or first.reading.margin > _FAR:
            return None
        return None if any(_behind(first)) else first

    @cached_property
    def not_judged(self) -> tuple[tuple[str, tuple[Cause, ...]], ...]:
        """What is missing, and the causes that are not judged, or not everywhere, for want of it."""
        lacking: dict[str, list[Cause]] = {}
        for cause in CAUSES:
            for words in cause.missing(self.plan):
                lacking.setdefault(words, []).append(cause)
        return tuple((words, tuple(causes)) for words, causes in lacking.items())


def squealing_of(plan: Plan, heard: Heard, command: str = "LAYOUT") -> Squealing:
    weighed = []
    for cause in CAUSES:
        water = [f"water {heard.water}"] if heard.water not in (None, cause.water) else []
        for reading in cause.read(plan, heard):
            unfit = [word for word in heard.when if word not in cause.fits or word in reading.never]
            weighed.append(Weighed(cause, reading, (*unfit, *water)))
    return Squealing(plan, heard, command, tuple(sorted(weighed, key=_rank)))


def _behind(weighed: Weighed) -> tuple[bool, bool, bool]:
    """What puts a cause behind others: it is ruled out, is not heard so here, or its pulley's slip says more."""
    reading = weighed.reading
    return reading.margin == math.inf, bool(weighed.unfit) or not weighed.fits, reading.rests_on_slip


def _rank(weighed: Weighed) -> tuple[tuple[bool, bool, bool], int, float, int, str]:
    reading = weighed.reading
    order = round(reading.margin, _SAME), CAUSES.index(weighed.cause), reading.where
    return _behind(weighed), -reading.severity * weighed.near, *order
