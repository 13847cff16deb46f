"""The verdict in words, and the caution that always shows."""

from __future__ import annotations

from beltplan.checks.limits import Finding, Severity
from beltplan.checks.plan import verdict_of
from beltplan.report.words import SAFETY, role_words
from tests.for_each import for_each


def of(severity: Severity) -> Finding:
    """A finding of that severity."""
    return Finding("check", severity, "it", "words", "source")


@for_each(
    ("severities", "expected"),
    [((), "works on paper: nothing found"), (("note",), "works on paper: nothing found"),
     (("caution", "note"), "works on paper, with 1 caution to"), (("caution", "caution"), "with 2 cautions to"),
     (("problem",), "does not work as it stands: 1 problem"),
     (("caution", "problem", "problem", "note"), "does not work as it stands: 2 problems, 1 caution")],
)  # fmt: skip
def test_verdict(severities: tuple[Severity, ...], expected: str) -> None:
    assert expected in verdict_of([of(severity) for severity in severities])


# What the caution must say is common practice of the trade, no source.
@for_each("part", ["engine off", "key out", "battery", "guards", "planning aids", "never an approval", "makers"])
def test_the_caution_keeps_its_parts(part: str) -> None:
    assert part in SAFETY


def test_no_verdict_approves() -> None:
    assert "works on paper" in verdict_of([]) and "safe" not in verdict_of([])


def test_role_in_words() -> None:
    assert role_words("air_conditioning") == "air conditioning"
