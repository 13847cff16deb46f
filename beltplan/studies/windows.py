"""What very many drives can take: the window of each, as arrays."""

from __future__ import annotations

from dataclasses import dataclass, fields

from beltplan.geometry.vectors import Bools, Floats


@dataclass(frozen=True, eq=False)
class Windows:
    """The windows of many drives, (N) mm each, as `belts.fit.Window`.

    short, long: where the adjuster is at the two ends, in whatever the study counts its place by.
    """

    short: Floats
    long: Floats
    shortest: Floats
    longest: Floats
    short_end: Floats
    long_end: Floats
    fitting: Floats

    def where(self, keep: Bools) -> Windows:
        """Only some of them."""
        return Windows(*(getattr(self, field.name)[keep] for field in fields(self)))
