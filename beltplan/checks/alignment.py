"""Do the pulleys stand in one plane, for every strand?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route
from beltplan.checks.finding import Finding, judge, plain
from beltplan.checks.limits import OWN, demanded

CHECK = "misalignment"
MEANING = "a strand that runs askew between two pulleys out of line fore and aft"


def alignment_findings(route: Route) -> list[Finding]:
    """Strands whose ends stand too far out of one plane for their length.

    Source: angle = atan(|difference of plane| / strand length), the grooved limit if either end is grooved.
    """
    unmeasured = tuple(pulley.name for pulley in route.pulleys if pulley.plane_mm is None)
    if len(unmeasured) == len(route.pulleys):
        return [plain(CHECK, "note", "belt", "alignment not judged: no `plane` is given for any pulley", OWN)]
    message = f"no `plane` is given for {', '.join(unmeasured)}: taken as 0, not as measured"
    note = [plain(CHECK, "note", "belt", message, OWN, unmeasured)] if unmeasured else []
    strands = zip(route.strands, route.loop.span, strict=True)
    return note + [finding for (start, end), span in strands for finding in _of(route, start, end, float(span))]


def _of(route: Route, start: Pulley, end: Pulley, span: float) -> list[Finding]:
    offset = abs((end.plane_mm or 0.0) - (start.plane_mm or 0.0))
    angle = float(np.degrees(np.arctan2(offset, span)))
    smooth = start.on_back and end.on_back
    key = "max_misalignment_smooth_deg" if smooth else "max_misalignment_deg"
    message = (
        f"{offset:.1f} mm out of line over {span:.0f} mm of strand is {angle:.2f} deg: "
        "shim or machine one of the two into line"
    )
    names = (start.name, end.name)
    return judge(CHECK, f"{start.name} to {end.name}", angle, demanded(route.layout, key, names), message, names)
