"""What every kind of export tells beside the parts: title, belt, path, what `check` found, and the caution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from beltplan.belts.drawing import Part, parts_of
from beltplan.belts.route import Route
from beltplan.checks.finding import Finding
from beltplan.report.export_layers import NAMES, NOTES
from beltplan.report.words import CAUTION, verdict_of

FRAME = "millimetres, full size; seen from the front: x right, y up"


@dataclass(frozen=True, eq=False)
class Content:
    """A route ready for export.

    designation: of the belt that is judged, None where none fits. path_mm: length of the path as it is drawn, along
    the line named `line`. position: of the adjuster as drawn, 0 short to 1 long. problems: how many `check` found.
    """

    title: str
    variant: str | None
    designation: str | None
    line: str
    path_mm: float
    position: float | None
    verdict: str
    problems: int
    parts: tuple[Part, ...]

    @property
    def heading(self) -> str:
        """Title, with the variant where it is one."""
        return clean(self.title + (f" (variant: {self.variant})" if self.variant else ""))


def content_of(route: Route, findings: Sequence[Finding]) -> Content:
    """What an export of a route holds, with what `check` finds of it."""
    layout = route.layout
    return Content(
        title=layout.title,
        variant=layout.variant,
        designation=route.designation,
        line=layout.belt.profile.line_name,
        path_mm=float(route.loop.length),
        position=route.position,
        verdict=verdict_of(findings),
        problems=sum(finding.severity == "problem" for finding in findings),
        parts=parts_of(route),
    )


def belt_words(content: Content) -> str:
    """The belt and the length of its path as drawn."""
    belt = "no belt on the list fits" if content.designation is None else content.designation
    at = "" if content.position is None else f", adjuster at {100.0 * content.position:.0f} % of its travel"
    return f"{belt}; path as drawn {content.path_mm:.3f} mm along the {content.line} line{at}"


def problem_words(content: Content) -> str | None:
    """What whoever cuts by the file must know first; None where no problem was found."""
    if not content.problems:
        return None
    found = "1 problem" if content.problems == 1 else f"{content.problems} problems"
    return f"DO NOT CUT YET: beltplan check finds {found} in this layout"


def notes_of(content: Content) -> tuple[str, ...]:
    """What a person must read in the file, a paragraph each; all on one line, without control characters."""
    problems = problem_words(content)
    return (
        content.heading,
        *([] if problems is None else [problems]),
        f"Verdict: {content.verdict}",
        FRAME[0].upper() + FRAME[1:],
        f"Belt: {clean(belt_words(content))}",
        f"Layers {NAMES} and {NOTES} are words, not to be cut",
        CAUTION,
    )


def clean(text: str) -> str:
    """A text on one line with a space for all that cannot be printed: no control character gets into a file."""
    return "".join(letter if letter.isprintable() else " " for letter in text).strip()
