"""Words that stand in more than one place: the caution, the verdict, names of roles."""

from __future__ import annotations

from collections.abc import Sequence

from beltplan.belts.belt import Belt
from beltplan.checks.finding import SEVERITIES, Finding, Severity
from beltplan.checks.limits import OWN

CAUTION = (
    "Rotating belts and sprung arms injure: engine off, key out, battery disconnected while measuring or fitting; "
    "guards and covers back on. Figures are planning aids from the measurements given, never an approval; friction, "
    "wear and weather vary. The makers' limits, local codes, and for brackets and fasteners a licensed engineer's "
    "judgement, come first."
)


def verdict_of(findings: Sequence[Finding]) -> str:
    """The verdict in a few words: what the findings come to."""
    counts = {severity: sum(f.severity == severity for f in findings) for severity in SEVERITIES}
    if counts["problem"]:
        return f"does not work as it stands: {_counted(counts, 'problem', 'caution')}"
    if counts["caution"]:
        return f"works on paper, with {_counted(counts, 'caution')} to look at"
    return "works on paper: nothing found against it"


def _counted(counts: dict[Severity, int], *severities: Severity) -> str:
    return ", ".join(f"{n} {s}{'' if n == 1 else 's'}" for s in severities if (n := counts[s]))


def role_words(role: str) -> str:
    """A role as it is said."""
    return role.replace("_", " ")


def pitch_line_source(belt: Belt) -> str:
    """Where the place of the pitch line comes from."""
    measured = belt.profile.is_automotive and belt.cord_below_back_mm is not None
    return OWN if measured else belt.profile.sources["pitch_line_mm"]
