"""Can the belt be put on, and is there travel in hand for tolerance, fitting and wear?"""

from __future__ import annotations

from beltplan.belts.fit import FittedBelt, Window
from beltplan.belts.route import Route
from beltplan.checks.belt_fit import interval_words
from beltplan.checks.finding import Finding, judge
from beltplan.checks.limits import Bound

CHECK = "reserve"
MEANING = "too little travel left for length tolerance, fitting or wear"
FITTING_CHECK = "fitting"
FITTING_MEANING = "the belt cannot be slipped over the last rim with the adjuster at its short-path stop"
STRETCH = "Hooke: length x (set tension - measuring force) / stiffness"
CLIMB = "derived: wrap x height to climb, least of the fixed rims"


def reserve_findings(route: Route) -> list[Finding]:
    """What is missing of the reserves of the belt that is judged."""
    fitted, window = route.judged, route.window
    if fitted is None or window is None or fitted.judged == "good":
        return []
    missing = zip(fitted.reasons, _negative(fitted), strict=True)
    found = [_missing(route, window, fitted, *each) for each in missing]
    # The same shortage at the long-path end, only worse.
    return [*found[:-1], _unset(route, window, fitted)] if _over(window, fitted) > 0.0 else found


def _over(window: Window, fitted: FittedBelt) -> float:
    """How much longer than the longest path a belt of nominal length is, pulled to its set tension; mm."""
    return fitted.line_mm * (1.0 + (window.growth.set or 0.0)) - window.longest


def _unset(route: Route, window: Window, fitted: FittedBelt) -> Finding:
    over = _over(window, fitted)
    message = (
        f"{fitted.designation} cannot be tightened: pulled to its set tension it is {over:.1f} mm longer than the "
        f"longest path; {_cure(route)}"
    )
    value, limit = window.longest + over, window.longest
    return Finding(CHECK, "problem", "belt", message, STRETCH, value, limit, "mm", -over / limit)


def _negative(fitted: FittedBelt) -> list[float]:
    return [reserve for reserve in (fitted.short_reserve_mm, fitted.long_reserve_mm) if reserve < 0.0]


def _missing(route: Route, window: Window, fitted: FittedBelt, reason: str, reserve: float) -> Finding:
    message = f"{fitted.designation} leaves {reason}; {_cure(route)}"
    share = reserve / max(window.longest - window.shortest, 1.0)
    return Finding(CHECK, "caution", "belt", message, _sources(route), reserve, 0.0, "mm", share)


def _cure(route: Route) -> str:
    if route.acceptable_mm is None:
        return "no length is good here, the adjuster needs more travel"
    return f"a length of {interval_words(*route.acceptable_mm)} is good"


def _sources(route: Route) -> str:
    sources = route.layout.belt.profile.sources
    words = f"length tolerance {sources['tolerance_share']}; wear {sources['wear_share']}"
    stretched = route.window is not None and route.window.growth.set
    return words + (f"; measuring force {sources['measuring_force_N']}" if stretched else "")


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
