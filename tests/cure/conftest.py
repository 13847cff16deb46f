"""Searches here judge less than `cure` does."""

import pytest


@pytest.fixture(scope="module", autouse=True)
def _less_here(less_is_judged: None) -> None:
    """In every file of this folder."""
