"""What the page is made of: everything that the other commands answer for one layout, and its own text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from beltplan.checks.card import Card, card_of
from beltplan.checks.comparison import Comparison, compare
from beltplan.checks.plan import Plan
from beltplan.drive.layout import Layout
from beltplan.page.settings import Setting, settings_of

_BASE = "as it stands"
"""Name of a layout beside its variants."""


@dataclass(frozen=True)
class Origin:
    """Where a page comes from. name: of the layout's file; text: all of it, empty where it has no room.

    drawings: names of files that it reads. source: its name and day, and the version.
    """

    name: str
    text: str
    drawings: tuple[str, ...]
    source: str


@dataclass(frozen=True, eq=False)
class Handout:
    """All of a page. variants: of the file, side by side, None where it has none; beside: this layout before others."""

    plan: Plan
    card: Card
    origin: Origin
    settings: tuple[Setting, ...]
    variants: Comparison | None
    beside: Comparison | None


def handout_of(
    plan: Plan, origin: Origin, variants: Sequence[Layout] = (), others: Sequence[tuple[str, Layout]] = ()
) -> Handout:
    """Gather it. variants: every layout of the file, the base first; others: named layouts to set this one beside."""
    named = [(each.variant or _BASE, each) for each in variants]
    compared = compare(named) if len(named) > 1 else None
    own = origin.name if plan.layout.variant is None else f"{origin.name}, {plan.layout.variant}"
    every = [(own, plan.layout), *others]
    if len(every) == 2:
        every = [(f"{when}: {name}", each) for when, (name, each) in zip(("before", "after"), every, strict=True)]
    beside = compare(every) if others else None
    return Handout(plan, card_of(plan), origin, settings_of(plan.route), compared, beside)
