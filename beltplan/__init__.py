"""Plans accessory drive belt routing: layout in, belt length, wraps, findings and picture out.

>>> import beltplan
>>> plan = beltplan.plan(beltplan.read("layouts/railcar.yaml"))
>>> plan.verdict
'works on paper, with 2 cautions to look at'
>>> plan.route.designation
'8PK2050'

A planning aid, never an approval: `plan.caution` belongs to every number. `help(beltplan.api)` says more.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from beltplan.api import Layout, LayoutFaults, NoBeltPath, Places, Plan, plan, plan_many, read

__version__ = "0.1.0"
__all__ = ["Layout", "LayoutFaults", "NoBeltPath", "Places", "Plan", "plan", "plan_many", "read"]


if not TYPE_CHECKING:  # to a type checker, a name that is not there stays an error

    def __getattr__(name: str) -> object:
        """What `__all__` names, loaded when first asked for: the command line does not wait for it (PEP 562)."""
        if name not in __all__:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        from beltplan import api

        return getattr(api, name)


def __dir__() -> list[str]:
    return [*globals(), *__all__]
