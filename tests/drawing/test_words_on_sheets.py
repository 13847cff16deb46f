"""Words of a print over several sheets keep off its lines: shapely's word, with letters as matplotlib draws them."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import numpy as np
import shapely

from beltplan.cli.main import main
from beltplan.picture.scene import Stroke
from tests.for_each import for_each
from tests.picture.crowding import SLACK_PT, lettering
from tests.picture.drawn import unpainted
from tests.shipped import FOLDER


@for_each("camper", "workboat")
def test_no_name_or_note_lies_on_a_line_of_its_sheet(tmp_path: Path, name: str) -> None:
    """Numbers of the check scales stand where the scales are, marks that join sheets on the seams."""
    with unpainted() as sheets, contextlib.redirect_stdout(io.StringIO()):
        assert main(["template", str(FOLDER / f"{name}.yaml"), "--out", str(tmp_path / f"{name}.pdf")]) in (0, 1)
    seen, struck = 0, []
    for sheet in sheets:
        strokes = [each for each in sheet.items if isinstance(each, Stroke) and len(each.points) > 1]
        lines = shapely.STRtree([shapely.LineString(np.asarray(each.points) - sheet.frame[:2]) for each in strokes])
        labels = [label for label in sheet.labels if label.text.strip()]
        for label, letters in zip(labels, lettering(sheet, SLACK_PT), strict=True):
            if label.name not in ("scale", "join"):
                seen += 1
                on = lines.query(letters.box, predicate="intersects")
                struck += [f"{label.text} on {strokes[i].name}" for i in on]
    assert len(sheets) > 3 and seen > 50 and not struck
