"""Is there a belt that fits, that can be put on, and that leaves the adjuster something in hand?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.designations import format_designation
from beltplan.belts.fit import FittedBelt, Window
from beltplan.belts.lengths import line_length_mm, rim_reading_spread_mm
from beltplan.belts.moves import shortest_move
from beltplan.belts.route import Route
from beltplan.belts.stock import stock_of
from beltplan.checks.finding import Finding, judge, plain
from beltplan.checks.limits import OWN, Bound

CHECK = "belt_fit"
MEANING = "no stock belt fits, or the named belt lies outside the adjuster's window"
RESERVE_CHECK = "reserve"
RESERVE_MEANING = "too little travel left for length tolerance, fitting or wear"
FITTING_CHECK = "fitting"
FITTING_MEANING = "the belt cannot be slipped over the last rim with the adjuster at its short-path stop"
TRAVEL_CHECK = "travel"
TRAVEL_MEANING = "only part of the adjuster's travel can be used"
READING_CHECK = "rim_reading"
READING_MEANING = "how far caliper readings over the rib tips leave the needed length open"
NEEDED = "computed path length of this layout"
CLIMB = "derived: wrap x height to climb, for each fixed rim"


def belt_fit_findings(route: Route) -> list[Finding]:
    """A belt that does not fit, in numbers: how far off, and what would make it fit."""
    if route.judged is not None:
        return []
    if route.window is None:
        return _nothing_fits_fixed(route)
    if route.named_outside:
        return _named_outside(route, route.window)
    return _nothing_in_window(route, route.window)


def _named_outside(route: Route, window: Window) -> list[Finding]:
    too_short = route.length_mm < window.shortest
    limit = window.shortest if too_short else window.longest
    off = abs(route.length_mm - limit)
    words = "short: it cannot be put on" if too_short else "long: the adjuster cannot take it up"
    message = (
        f"{route.designation} is {off:.1f} mm too {words}; the window is {_interval(window.shortest, window.longest)}"
    )
    margin = -off / limit
    return [Finding(CHECK, "problem", "belt", message, NEEDED, route.length_mm, limit, "mm", margin)]


def _nothing_in_window(route: Route, window: Window) -> list[Finding]:
    nearest, off = _nearest(route, window.shortest, window.longest)
    message = f"no belt on the list lies in the window {_interval(window.shortest, window.longest)}"
    if nearest is None:
        return [plain(CHECK, "problem", "belt", message + ": the list holds none of this profile", NEEDED)]
    limit = window.shortest if off < 0.0 else window.longest
    message += (
        f"; nearest is {nearest}, {abs(off):.1f} mm too {'short' if off < 0.0 else 'long'}: look for another length"
    )
    return [Finding(CHECK, "problem", "belt", message, NEEDED, limit + off, limit, "mm", -abs(off) / limit)]


def _nothing_fits_fixed(route: Route) -> list[Finding]:
    needed = route.needed_mm
    if needed is None:
        return []
    if route.named_outside:
        nearest, off = str(route.designation), route.length_mm - needed
    else:
        name, off = _nearest(route, needed, needed)
        if name is None:
            return [plain(CHECK, "problem", "belt", "the list holds no belt of this profile", NEEDED)]
        nearest = name
    message = (
        f"there is no adjuster and {nearest} is {abs(off):.1f} mm too {'short' if off < 0.0 else 'long'} "
        f"for the {needed:.1f} mm path: {_move_words(route, needed + off)}"
    )
    return [Finding(CHECK, "problem", "belt", message, NEEDED, needed + off, needed, "mm", -abs(off) / needed)]


def _move_words(route: Route, length_mm: float) -> str:
    move = shortest_move(route.circuit, length_mm)
    if move is None:
        return "no single pulley moved a little makes it fit"
    return (
        f"moving {move.pulley} {move.distance_mm:.1f} mm toward {np.degrees(move.direction_rad) % 360.0:.0f} deg "
        "(0 right, 90 up) would make it fit; an adjuster is better"
    )


def _nearest(route: Route, shortest: float, longest: float) -> tuple[str | None, float]:
    """The stock belt nearest to a window, and how far it is outside: negative where too short."""
    offs = [
        (min(line_length_mm(belt) - shortest, 0.0) + max(line_length_mm(belt) - longest, 0.0), format_designation(belt))
        for belt in stock_of(route.layout)
    ]
    off, name = min(offs, key=lambda pair: abs(pair[0]), default=(0.0, None))
    return name, off


def reserve_findings(route: Route) -> list[Finding]:
    """What is missing of the reserves of the belt that is judged."""
    fitted, window = route.judged, route.window
    if fitted is None or fitted.judged == "good":
        return []
    if window is None:
        return [plain(RESERVE_CHECK, "caution", "belt", f"{fitted.designation}: {fitted.reasons[0]}", OWN)]
    better = _better_words(route)
    return [
        Finding(
            RESERVE_CHECK,
            "caution",
            "belt",
            f"{fitted.designation} leaves {reason}{better}",
            "rule of the good belt: tolerance, fitting and wear inside the travel; shares by " + _share_source(route),
            value,
            0.0,
            "mm",
            value / width,
        )
        for reason, value in zip(fitted.reasons, _missing(fitted), strict=True)
        for width in (max(window.longest - window.shortest, 1.0),)
    ]


def _missing(fitted: FittedBelt) -> list[float]:
    return [reserve for reserve in (fitted.short_reserve_mm, fitted.long_reserve_mm) if reserve < 0.0]


def _better_words(route: Route) -> str:
    acceptable = route.acceptable_mm
    if acceptable is None:
        return "; no length is good here: the adjuster needs more travel"
    return f"; a length of {_interval(*acceptable)} is good"


def _share_source(route: Route) -> str:
    sources = route.layout.belt.profile.sources
    return f"tolerance {sources['tolerance_share']}; wear {sources['wear_share']}"


def fitting_findings(route: Route) -> list[Finding]:
    """Slack at the short-path stop against what the easiest rim needs."""
    fitted, window = route.judged, route.window
    if fitted is None or window is None:
        return []
    slack = fitted.line_mm - window.shortest
    message = (
        f"with the adjuster at its short-path stop {fitted.designation} has {slack:.1f} mm of slack, and slipping it "
        f"over {window.last_over} last takes {window.fitting:.1f}: more travel that way, or a longer belt"
    )
    return judge(
        FITTING_CHECK,
        window.last_over,
        slack,
        Bound("lower", window.fitting, "mm", CLIMB),
        message,
        (window.last_over,),
    )


def travel_findings(route: Route) -> list[Finding]:
    """Travel that is of no use because the path fails or its length turns back."""
    travel, pulley = route.travel, route.moving
    if travel is None or pulley is None or travel.whole:
        return []
    words = "; ".join(dict.fromkeys(travel.stopped_by))
    found = [
        plain(
            TRAVEL_CHECK,
            "caution",
            pulley.name,
            f"only part of the adjuster's travel is used, {_interval(travel.shortest_mm, travel.longest_mm)}: {words}",
            NEEDED,
            (pulley.name,),
        )
    ]
    if not travel.contains_nominal:
        message = "there is no belt path at the adjuster's own setting (`at_deg`, `at`, or the middle of the travel)"
        found.append(plain(TRAVEL_CHECK, "problem", pulley.name, message, NEEDED, (pulley.name,)))
    return found


def rim_reading_findings(route: Route) -> list[Finding]:
    """How far the needed length is open because grooved pulleys were read over the rib tips."""
    read = [p.reading == "rim" and not p.on_back for p in route.pulleys]
    if not any(read):
        return []
    wraps = float(route.loop.wrap[np.array(read)].sum())
    least, most = rim_reading_spread_mm(route.layout.belt, wraps)
    message = (
        f"{sum(read)} pulleys were read over their rims: the needed length may be {least:+.1f} to {most:+.1f} mm off"
    )
    return [plain(READING_CHECK, "note", "belt", message, route.layout.belt.profile.sources["rim_range_mm"])]


def _interval(least: float, most: float) -> str:
    return f"{least:.1f} to {most:.1f} mm"
