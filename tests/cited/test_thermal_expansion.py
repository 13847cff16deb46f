"""Thermal expansion, any handbook: aluminium 23e-6, cast iron 11e-6 a kelvin; dT = EA (a_block - a_belt) rise.

The belt's own growth is taken as 0 (common practice, no source). EA 28 kN a rib (from memory, medium confidence).
"""

from dataclasses import replace

import pytest

from beltplan.drive.layout import Block
from beltplan.drive.operation import EXPANSION_PER_K, heat_N
from beltplan.drive.route import route_of
from tests.cited.published import holds
from tests.drive.loaded_drives import on_slide
from tests.for_each import for_each


def test_the_handbooks() -> None:
    holds([EXPANSION_PER_K["aluminium"], EXPANSION_PER_K["iron"]], [23e-6, 11e-6])


@for_each(
    (Block("aluminium", 80.0), 309.12), (Block("iron", 80.0), 147.84), (Block("aluminium", -40.0), -154.56),
)  # fmt: skip
def test_of_six_ribs(block: Block, newton: float) -> None:
    given = replace(on_slide(), block=block)
    assert heat_N(given, route_of(given).circuit) == pytest.approx(newton)
