"""Layouts to be cured, and their cures, each looked for once. All numbers are invented."""

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from beltplan.cure import study
from beltplan.cure.study import Cures
from beltplan.drive.layout import Layout
from beltplan.drive.loads import AlternatorLoad
from beltplan.drive.operation import operation_of
from beltplan.drive.pulleys import Arm
from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout

LAYOUTS = Path(__file__).resolve().parents[2] / "layouts"
CASES = Path(__file__).resolve().parents[1] / "cases"


def layout_of(name: str, variant: str | None = None) -> Layout:
    """A shipped layout."""
    return read_layout(str(LAYOUTS / f"{name}.yaml"), variant).layout


@lru_cache
def cures(name: str, variant: str | None = None) -> Cures:
    """The cures of a shipped layout."""
    return study.cures_of(layout_of(name, variant))


def case_layout(name: str) -> Layout:
    return read_layout(str(CASES / f"{name}.yaml")).layout


@lru_cache
def case_cures(name: str) -> Cures:
    """The cures of a case."""
    return study.cures_of(case_layout(name))


def carrier(torque_Nm: float, case: str = "squeal_low2") -> Layout:
    """A snow carrier whose crankshaft slips in the wet with a spring of 7 Nm, and comes near it with 8.24.

    Its alternator is 60 % efficient, whatever the default, and its engine runs steadily.
    """
    layout = case_layout(case)
    tensioner, alternator = layout.pulleys["tensioner"], layout.pulleys["alternator"]
    assert isinstance(tensioner.adjuster, Arm) and tensioner.adjuster.spring is not None
    assert isinstance(alternator.load, AlternatorLoad)
    arm = replace(tensioner.adjuster, spring=replace(tensioner.adjuster.spring, torque_Nm=torque_Nm))
    own = replace(alternator, load=replace(alternator.load, efficiency=0.6))
    pulleys = {**layout.pulleys, "tensioner": replace(tensioner, adjuster=arm), "alternator": own}
    return replace(layout, engine=replace(layout.engine, rev_up_rpm_per_s=None), pulleys=pulleys)


@lru_cache
def carrier_cures(torque_Nm: float, case: str = "squeal_low2") -> Cures:
    """The cures of the snow carrier."""
    return study.cures_of(carrier(torque_Nm, case))


def revving_camper(
    torque_Nm: float, rev_up: float, rate: float = 0.2, idler: tuple[float, float, float] | None = (115.0, 91.0, 90.0)
) -> Layout:
    """The camper with another spring on an engine that changes speed faster, with an idler (x, y, diameter) or none."""
    layout = layout_of("camper", None if idler is None else "with idler")
    tensioner, pulleys = layout.pulleys["tensioner"], dict(layout.pulleys)
    assert isinstance(tensioner.adjuster, Arm) and tensioner.adjuster.spring is not None
    spring = replace(tensioner.adjuster.spring, torque_Nm=torque_Nm, rate_Nm_per_deg=rate)
    pulleys["tensioner"] = replace(tensioner, adjuster=replace(tensioner.adjuster, spring=spring))
    if idler is not None:
        pulleys["idler"] = replace(pulleys["idler"], at_mm=idler[:2], diameter_mm=idler[2])
    return replace(layout, engine=replace(layout.engine, rev_up_rpm_per_s=rev_up), pulleys=pulleys)


@lru_cache
def chirping() -> Cures:
    """The cures of the camper on a spring so weak that its crank slips, but only while the engine speeds up."""
    return study.cures_of(revving_camper(13.9, 4500.0))


@lru_cache
def movable_railcar() -> Cures:
    """The railcar, its compressor wanting 132 deg of the 128 that it has, on a bracket that may be moved by 40 mm."""
    layout = layout_of("railcar")
    pulleys = {**layout.pulleys, "compressor": replace(layout.pulleys["compressor"], movable_mm=40.0)}
    return study.cures_of(replace(layout, pulleys=pulleys, limits={"min_wrap_deg": {"compressor": 132.0}}))


def route(name: str) -> Route:
    """The route of a shipped layout."""
    return route_of(layout_of(name))


def problems_of(layout: Layout) -> int:
    """How many problems `check` would find, through the spine alone."""
    from beltplan.checks.every_check import findings_of

    laid = route_of(layout)
    return sum(finding.severity == "problem" for finding in findings_of(laid, operation_of(laid)))
