"""What stands at the top of a layout file that was written from measurements."""

from __future__ import annotations

from beltplan.report.measure_words import answers
from beltplan.report.tables import paragraph
from beltplan.studies.measuring import Measuring

UNCERTAINTY_NOTE = (
    "The uncertainties below are one standard deviation of each place, a common turn and shift taken out, and scaled "
    "so that the belt length spreads as it does by all readings together."
)


def measure_notes(found: Measuring, name: str) -> list[str]:
    """Leading comments, line by line, in plain ASCII. name: of the measurements file."""
    source = f"{_ascii(name)} (lines told are those of that file)"
    notes = [f"Places found by `beltplan measure` from {source}; a plan on paper, not an approval."]
    notes += [
        f"{lead}: {_ascii(words)}"
        for lead, words in answers(found)
        if lead in ("MISREAD", "DOUBT", "SUSPECT", "SIDES", "LEVEL")
        or (lead == "CHECKED" and found.degrees < 1)
        or (lead == "PICTURE" and not all(trust.trusted for trust in found.pictures))
    ]
    return [*(line for note in [*notes, UNCERTAINTY_NOTE] for line in paragraph(note, "", "  ")), ""]


def _ascii(text: str) -> str:
    return ascii(text.replace("\N{PLUS-MINUS SIGN}", "+-"))[1:-1]
