"""Is there anything that takes up what an ordinary belt is short, long or worn?"""

from __future__ import annotations

from beltplan.belts.belt import Belt
from beltplan.belts.route import Route
from beltplan.checks.finding import Finding

CHECK = "no_adjuster"
MEANING = "an ordinary belt on a drive without an adjuster: only a stretch belt may do without one"
HOOKE = "Hooke: stiffness x (path / length - 1); length tolerance "


def no_adjuster_findings(route: Route) -> list[Finding]:
    """An ordinary belt that nothing tightens: what its length tolerance alone does to it."""
    belt, needed = route.layout.belt, route.needed_mm
    if route.travel is not None or belt.stretch_fit is not None or needed is None:
        return []
    line = needed if route.judged is None else route.judged.line_mm
    name = "a belt of just this length" if route.judged is None else route.judged.designation
    off, source = belt.tolerance_of(line), HOOKE + belt.profile.sources["tolerance_share"]
    added = added_N(belt, needed, line - off)
    pull = "is pulled far too tight" if added is None else f"gains about {added:.0f} N in every span"
    message = (
        f"no adjuster, and this is no stretch belt: it can neither be slipped on nor tightened; {name} made "
        f"{off:.1f} mm short {pull}, made as much long it hangs {line + off - needed:.1f} mm loose: add an adjuster, "
        "or take a stretch belt made for this path (`belt.stretch_fit_percent`)"
    )
    return [Finding(CHECK, "problem", "belt", message, source, added, None, "" if added is None else "N")]


def added_N(belt: Belt, path_mm: float, line_mm: float) -> float | None:
    """Tension that a path longer than the belt adds to every span, N; None where the stiffness is not known."""
    stiffness = belt.full_stiffness_N
    return None if stiffness is None or line_mm <= 0.0 else stiffness * max(path_mm / line_mm - 1.0, 0.0)
