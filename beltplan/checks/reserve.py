"""Can the belt be put on, and is there travel in hand for tolerance, fitting and wear?"""

from __future__ import annotations

from beltplan.belts.fit import FittedBelt, Window, seat_mm
from beltplan.belts.route import Route
from beltplan.checks.belt_fit import interval_words, move_words
from beltplan.checks.finding import Finding, judge
from beltplan.checks.limits import Bound

CHECK = "reserve"
MEANING = "too little travel left for length tolerance, fitting or wear"
FITTING_CHECK = "fitting"
FITTING_MEANING = "the belt cannot be slipped over the last rim with the adjuster at its short-path stop"
CLIMB = "derived: wrap x height to climb, least of the fixed rims"


def reserve_findings(route: Route) -> list[Finding]:
    """What is missing of the reserves of the belt that is judged."""
    fitted, window = route.judged, route.window
    if fitted is None or fitted.judged == "good":
        return []
    if window is None:
        return [_by_tolerance(route, fitted)]
    return [
        _missing(route, window, fitted, reason, reserve)
        for reason, reserve in zip(fitted.reasons, _negative(fitted), strict=True)
    ]


def _by_tolerance(route: Route, fitted: FittedBelt) -> Finding:
    """A belt that only its length tolerance lets fit: how far it is off, against the tolerance."""
    message = (
        f"{fitted.designation}: {fitted.reasons[0]}; to meet it exactly, {move_words(route, seat_mm(fitted.belt))}"
    )
    tolerance = fitted.belt.tolerance_of(fitted.line_mm)
    off = tolerance - fitted.reserve_mm
    margin = fitted.reserve_mm / tolerance if tolerance else 0.0
    return Finding(CHECK, "caution", "belt", message, _sources(route), off, tolerance, "mm", margin)


def _negative(fitted: FittedBelt) -> list[float]:
    return [reserve for reserve in (fitted.short_reserve_mm, fitted.long_reserve_mm) if reserve < 0.0]


def _missing(route: Route, window: Window, fitted: FittedBelt, reason: str, reserve: float) -> Finding:
    acceptable = route.acceptable_mm
    cure = (
        "no length is good here, the adjuster needs more travel"
        if acceptable is None
        else f"a length of {interval_words(*acceptable)} is good"
    )
    message = f"{fitted.designation} leaves {reason}; {cure}"
    share = reserve / max(window.longest - window.shortest, 1.0)
    return Finding(CHECK, "caution", "belt", message, _sources(route), reserve, 0.0, "mm", share)


def _sources(route: Route) -> str:
    sources = route.layout.belt.profile.sources
    return f"length tolerance {sources['tolerance_share']}; wear {sources['wear_share']}"


def fitting_findings(route: Route) -> list[Finding]:
    """Slack at the short-path stop against what the easiest rim needs."""
    fitted, window = route.judged, route.window
    if fitted is None or window is None:
        return []
    slack = fitted.line_mm - window.shortest
    message = (
        f"with the adjuster at its short-path stop {fitted.designation} has {slack:.1f} mm of slack, and slipping it "
        f"over {window.last_over} last takes {window.fitting:.1f}: give it more travel that way, or a longer belt"
    )
    bound = Bound("lower", window.fitting, "mm", CLIMB)
    return judge(FITTING_CHECK, window.last_over, slack, bound, message, (window.last_over,))
