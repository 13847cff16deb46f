"""Searches here judge less than `cure` does: their laws hold for any share of it, and each takes seconds."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from beltplan.cure import study


@pytest.fixture(scope="package", autouse=True)
def less_is_judged() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(study, "_MOST_JUDGED", {**study._MOST_JUDGED, "order": 8, "diameter": 8, "move": 8, "idler": 16})
        patch.setattr(study, "_MOST_PAIRS", 24)
        yield
