"""One random generator a test, so that the order of the tests decides nothing."""

from __future__ import annotations

import numpy as np
import pytest


@pytest.fixture
def rng(request: pytest.FixtureRequest) -> np.random.Generator:
    """A generator begun anew for every test, from the `SEED` of its file."""
    return np.random.default_rng(request.module.SEED)
