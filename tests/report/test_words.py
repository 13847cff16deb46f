"""The verdict in words, and the caution that always shows."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from beltplan import __version__
from beltplan.checks.limits import Finding, Severity
from beltplan.checks.plan import plan_of
from beltplan.report.words import KEPT, SAFETY, role_words, source_words, unbroken
from tests.drive.drives import railcar
from tests.for_each import for_each


def of(severity: Severity) -> Finding:
    return Finding("check", severity, "it", "words", "source")


def _verdict(*severities: Severity) -> str:
    return replace(plan_of(railcar()), findings=tuple(map(of, severities))).verdict


@for_each(
    ((), "works on paper: nothing found"), (("note",), "works on paper: nothing found"),
    (("caution", "note"), "works on paper, with 1 caution to"), (("caution", "caution"), "with 2 cautions to"),
    (("problem",), "does not work as it stands: 1 problem"),
    (("caution", "problem", "problem", "note"), "does not work as it stands: 2 problems, 1 caution"),
)  # fmt: skip
def test_verdict(severities: tuple[Severity, ...], expected: str) -> None:
    assert expected in _verdict(*severities)


# What the caution must say is common practice of the trade, no source.
@for_each("engine off", "key out", "battery", "guards", "planning aids", "never an approval", "makers")
def test_the_caution_keeps_its_parts(part: str) -> None:
    assert part in SAFETY


def test_no_verdict_approves() -> None:
    assert "works on paper" in _verdict() and "safe" not in _verdict()


def test_role_in_words() -> None:
    assert role_words("air_conditioning") == "air conditioning"


def test_a_print_tells_its_files_by_name_and_day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """SOURCE_DATE_EPOCH (reproducible-builds.org) takes the place of every day; one beyond the calendar tells none."""
    paths = [str(tmp_path / name) for name in ("a.yaml", "b.yaml")]
    for path, day_s in zip(paths, (1_709_208_000, 1_000_000_000), strict=True):
        Path(path).touch()
        os.utime(path, (day_s, day_s))
    monkeypatch.delenv("SOURCE_DATE_EPOCH")
    version = f"beltplan {__version__}"
    assert source_words(*paths, paths[0]) == f"a.yaml of 2024-02-29, b.yaml of 2001-09-09; {version}"
    assert source_words(str(tmp_path / "gone.yaml"), variant="x") == f"gone.yaml; variant x; {version}"
    for given, day in (("0", " of 1970-01-01"), ("no number", " of 2024-02-29"), ("9" * 30, "")):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", given)
        assert source_words(paths[0]) == f"a.yaml{day}; {version}"


def test_an_inch_is_not_torn_from_its_fraction() -> None:
    assert unbroken("read 16 13/16 in: 1 off") == f"read 16{KEPT}13/16{KEPT}in: 1 off"
