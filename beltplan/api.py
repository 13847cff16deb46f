"""What `import beltplan` offers to a notebook or another program: read a file, plan it, plan it at many places."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from beltplan.checks import plan as checks_plan
from beltplan.checks.questions import with_questions
from beltplan.drive.layout import Layout
from beltplan.drive.way_round import NoBeltPath
from beltplan.faults import LayoutFaults
from beltplan.geometry.vectors import Bools, Floats
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.words import SAFETY, source_words

if TYPE_CHECKING:
    from beltplan.picture.scene import Scene

__all__ = ["Layout", "LayoutFaults", "NoBeltPath", "Places", "Plan", "plan", "plan_many", "read"]

Words = NDArray[np.str_]


def read(path: str | os.PathLike[str], variant: str | None = None) -> Layout:
    """The layout of a file as it stands, or one of its variants.

    Raises LayoutFaults with every fault of the file, each with its line; that it cannot be read is one of them.

    >>> read("layouts/camper.yaml", variant="with idler").variant
    'with idler'
    """
    return read_layout(os.fspath(path), variant).layout


class Plan(checks_plan.Plan):
    """The whole answer of `beltplan check` for one layout; it draws itself in a notebook.

    `route`: belt, length, travel, geometry (mm, rad). `operation`: every speed, duty and condition, None where tensions
    cannot be computed (`not_judged` says why). `findings`: what the checks have to say, worst first. `verdict`: what
    they come to. Read off these, with units in the names: `pulleys`, `spans`, `adjuster`, `gaps`, `margin`, `tension`,
    `slip`, `hubs`, `cures`.
    """

    caution = SAFETY

    def to_dict(self) -> dict[str, Any]:
        """The same as `beltplan check --json`, as plain values.

        >>> plan(read("layouts/railcar.yaml")).to_dict()["belt"]["designation"]
        '8PK2050'
        """
        from beltplan.report.check_json import result_of
        from beltplan.report.words import rounded_numbers

        result: dict[str, Any] = rounded_numbers(result_of(self))
        return result

    def text(self, full: bool = False) -> str:
        """The report of `beltplan check`, with `full` all of it."""
        from beltplan.report.check_text import check_report
        from beltplan.report.screen import Screen, shown

        return shown(check_report(self, full), Screen())

    def save_picture(self, path: str | os.PathLike[str]) -> None:
        """Draw the routing to a file whose name ends in .png, .svg or .pdf.

        Raises ValueError for another ending, OSError where it cannot be written.
        """
        from beltplan.picture.painter import paint
        from beltplan.picture.routing import routing_scene

        paint(self._footed(routing_scene(self)), os.fspath(path))

    def save_slip_picture(self, path: str | os.PathLike[str]) -> None:
        """Draw slip over the speed range and the hub loads, likewise.

        Raises ValueError also where tensions cannot be computed.
        """
        from beltplan.picture.painter import paint
        from beltplan.picture.slip import slip_scene

        if self.operation is None:
            raise ValueError(f"slip is not judged: {self.not_judged}")
        paint(self._footed(slip_scene(self)), os.fspath(path))

    def _repr_svg_(self) -> str:
        """The picture of the routing, where a notebook shows the plan."""
        from beltplan.picture.painter import picture_bytes
        from beltplan.picture.routing import routing_scene

        return picture_bytes(self._footed(routing_scene(self)), "svg").decode("utf-8")

    def _footed(self, scene: Scene) -> Scene:
        from beltplan.picture.page import footed

        return footed(scene, source_words(variant=self.layout.variant))


def plan(layout: Layout) -> Plan:
    """Lay the belt, run the drive and ask every check.

    Raises NoBeltPath where there is no belt path anywhere on the adjuster's travel. A design that fails a check is a
    finding, no exception.

    >>> plan(read("layouts/railcar.yaml")).count("problem")
    0
    """
    answer = with_questions(checks_plan.plan_of(layout))
    return Plan(answer.route, answer.operation, answer.findings)


@dataclass(frozen=True, eq=False)
class Places:
    """What a layout comes to with one pulley at each of many places; every array has the leading axes of `at_mm`.

    pulley: the one moved. at_mm: (..., 2), x and y. verdict: 'sound', 'caution', 'problem', 'no belt fits', 'no path'.
    belt: designation of the belt that is judged, '' where there is none on the list. position: of the adjuster, 0 short
    to 1 long. reserve_mm: of the belt at the worse end of the travel. clearance_mm, span_gap_mm, rim_gap_mm: the
    smallest. margin: the worst distance to a limit, as a share of it; margin_of: which. slip_wet: the highest grip
    utilisation when wet, 1 is slip. wrap_deg: of every pulley on the belt, by its name. NaN or '' where a place has no
    such value.
    """

    pulley: str
    at_mm: Floats
    verdict: Words
    belt: Words
    position: Floats
    reserve_mm: Floats
    clearance_mm: Floats
    span_gap_mm: Floats
    rim_gap_mm: Floats
    margin: Floats
    margin_of: Words
    slip_wet: Floats
    wrap_deg: Mapping[str, Floats]

    caution = SAFETY

    @property
    def problem(self) -> Bools:
        """Where the drive does not work: a problem, no belt that fits, or no path."""
        return ~np.isin(self.verdict, ("sound", "caution"))


def plan_many(layout: Layout, pulley: str, places: ArrayLike, slip: bool = True) -> Places:
    """Judge a layout with one of its fixed pulleys at many places, all at once, as `beltplan place` does.

    pulley: its name, on the belt's route. places: (..., 2), x and y in mm. slip: whether places that have no other
    problem are judged as well for what needs tensions, so that each comes to what `plan` finds: most of the time.
    Raises ValueError for a pulley that cannot be moved, and for places that are no pairs of finite numbers.

    >>> import numpy as np
    >>> found = plan_many(read("layouts/railcar.yaml"), "alternator", [[243.0, 299.0], [0.0, 0.0]])
    >>> found.verdict.shape, found.belt.tolist()
    ((2,), ['8PK2050', ''])
    """
    from beltplan.judging.stages import judged_places

    at = np.asarray(places, dtype=np.float64)
    _refuse_bad_places(layout, pulley, at)
    found = judged_places(layout, (pulley,), at.reshape(-1, 1, 2), slip=slip)
    shape = at.shape[:-1]

    def value(name: str) -> Floats:
        return found.spread(name).reshape(shape)

    def words(told: list[str]) -> Words:
        return np.array(told, dtype=np.str_).reshape(shape)

    return Places(
        pulley, at, words(found.verdicts), words(found.designations), value("position"), value("reserve_mm"),
        value("clearance_mm"), value("span_gap_mm"), value("rim_gap_mm"), value("margin"), words(found.margin_names),
        value("slip_wet"), {name: found.wrap_deg(name).reshape(shape) for name in layout.route},
    )  # fmt: skip


def _refuse_bad_places(layout: Layout, pulley: str, at: Floats) -> None:
    fixed = [each.name for each in layout.routed if each.adjuster is None]
    if pulley not in fixed:
        raise ValueError(f"pulley: got {pulley!r}; allowed: one with a place of its own, of {', '.join(fixed)}")
    if at.ndim < 1 or at.shape[-1] != 2 or not np.isfinite(at).all():
        raise ValueError(f"places: got an array of shape {at.shape}; allowed: (..., 2), finite x and y in mm")
