"""What a profile says of itself."""

from __future__ import annotations

from beltplan.drive.profiles import PROFILES
from tests.for_each import for_each


@for_each(("PK", True, False, "effective"), ("AV13", False, False, "effective"), ("A", False, True, "datum"))
def test_family(name: str, ribbed: bool, classical: bool, line: str) -> None:
    profile = PROFILES[name]
    assert (profile.is_ribbed, profile.is_classical, profile.line_name) == (ribbed, classical, line)
