"""The labels of a measured drive: names with places, residuals on their lines, marks, mirror solutions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.drive.layout import Units
from beltplan.geometry.vectors import Floats
from beltplan.measure.strokes import (
    CROSS_PT,
    ELLIPSE_PT,
    GHOST_PT,
    RING_PT,
    Drawing,
    Ghost,
    Numbered,
    along,
    at_of,
    ends_of,
    lines_of,
    mark_items,
    plate,
    reach_mm,
    residuals_of,
    rims_of,
)
from beltplan.measure.study import Centre, Checked
from beltplan.measure.values import number
from beltplan.picture.labels import PAD_PT, Anchor, Block, KeepOut, Line, Writer, hits, place
from beltplan.picture.page import MARK_PT
from beltplan.picture.scene import INK, LEADER, SOFT_INK, Box, Item, Stroke, text_width_pt, wrapped
from beltplan.report.screen import in_units

_NAME_PT, _TEXT_PT, _RESIDUAL_PT = 10.5, 8.5, 7.5
_NAME_WIDTH_PT = 130.0
_OUTLINE_STEP = 4
"""Every so manyth corner of an ellipse is enough to keep labels off its outline."""
_SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82)


class _MeasureWriter(Writer):
    """Writes what belongs to points and readings."""

    def __init__(self, drawing: Drawing, edges: tuple[float, float]) -> None:
        super().__init__(_keep_out(drawing, edges), drawing.unit_pt)
        self.found = drawing.found
        self.reach = _reaches(drawing)
        self.middle = self.found.places.mean(axis=0)

    def point(self, index: int) -> None:
        """A point's name and place."""
        centre = self.found.centres[index]
        away = np.array(centre.at_mm) - self.middle
        anchor = Anchor(centre.at_mm, self.reach[index], float(np.arctan2(away[1], away[0])))
        mark = centre.name in self.found.measured.marks
        self.beside(_point_block(centre, self.found.measured.units, mark), (anchor,))

    def mark(self, each: Numbered) -> None:
        """The mark of a reading in doubt, on its line where there is room, else beside it."""
        ends = ends_of(self.found, each.reading)
        pt = 1.0 / self.unit_pt
        if ends is None:
            at = at_of(self.found, each.reading.points[0])
            self._mark_beside(each, (Anchor((float(at[0]), float(at[1])), RING_PT * pt, 0.5),))
            return
        for share in _SHARES:
            x, y = along(ends, share)
            box = _around(float(x), float(y), MARK_PT * pt, MARK_PT * pt)
            if self._is_free(box, ends):
                self.items += mark_items(each, (float(x), float(y)), self.unit_pt)
                self.keep_out = self.keep_out.with_box(box)
                return
        places = [along(ends, share) for share in _SHARES]
        self._mark_beside(each, tuple(Anchor((float(x), float(y)), 0.0, 0.0) for x, y in places))

    def residual(self, each: Checked, ends: Floats) -> None:
        """How much a reading reads too much, on its line; not at all where there is no room."""
        text = _residual_words(each, self.found.measured.units)
        pt = 1.0 / self.unit_pt
        width = (text_width_pt(text, _RESIDUAL_PT) + 2.0 * PAD_PT) * pt
        height = (1.28 * _RESIDUAL_PT + 2.0 * PAD_PT) * pt
        for share in _SHARES:
            x, y = along(ends, share)
            box = _around(float(x), float(y), width, height)
            if self._is_free(box, ends):
                self.items.append(plate(box))
                block = Block((Line(text, _RESIDUAL_PT, SOFT_INK, name=f"residual {each.reading.words}"),))
                self.put(block, box, "center")
                return

    def ghost(self, ghost: Ghost) -> None:
        """Whose place a mirror solution shows."""
        away = np.array(ghost.at) - self.middle
        anchor = Anchor(ghost.at, GHOST_PT / self.unit_pt, float(np.arctan2(away[1], away[0])))
        lines = wrapped(f"or {ghost.name}", _NAME_WIDTH_PT, _TEXT_PT)
        self.beside(
            Block(tuple(Line(text, _TEXT_PT, SOFT_INK, name=f"ghost {ghost.name}") for text in lines)), (anchor,)
        )

    def level(self, x: float, y: float) -> None:
        """The word at the level line, where there is room close by."""
        block = Block((Line("level", _TEXT_PT, SOFT_INK, name="level"),))
        self.beside(block, (Anchor((x, y), 0.0, 0.5 * np.pi),), near=True)

    def _mark_beside(self, each: Numbered, anchors: tuple[Anchor, ...]) -> None:
        size = MARK_PT / self.unit_pt
        spot = place(self.keep_out, anchors, size, size, 1.0 / self.unit_pt)
        if spot.leader is not None:
            self.items.append(Stroke(spot.leader, LEADER, "leader"))
            self.keep_out = self.keep_out.with_leader(spot.leader)
        x, y = 0.5 * (spot.box[0] + spot.box[2]), 0.5 * (spot.box[1] + spot.box[3])
        self.items += mark_items(each, (x, y), self.unit_pt)
        self.keep_out = self.keep_out.with_box(spot.box)

    def _is_free(self, box: Box, own: Floats) -> bool:
        """Whether a box on a line touches nothing but lines between the same ends."""
        keep_out = self.keep_out
        same = np.all(np.isclose(keep_out.start, own[0]) & np.isclose(keep_out.end, own[-1]), axis=1)
        same |= np.all(np.isclose(keep_out.start, own[-1]) & np.isclose(keep_out.end, own[0]), axis=1)
        others = replace(keep_out, start=keep_out.start[~same], end=keep_out.end[~same], half=keep_out.half[~same])
        return not hits(others, np.array([box]), 1.0 / self.unit_pt)[0]


def label_items(drawing: Drawing, edges: tuple[float, float], level_x: float) -> list[Item]:
    """Every label. edges: left and right edge of the page, mm; level_x: where the level line ends."""
    found, writer = drawing.found, _MeasureWriter(drawing, edges)
    for each in drawing.numbered:
        writer.mark(each)
    for index in sorted(range(len(found.centres)), key=lambda i: -writer.reach[i]):
        writer.point(index)
    for ghost in drawing.ghosts:
        writer.ghost(ghost)
    writer.level(level_x, float(at_of(found, found.measured.origin)[1]))
    for checked, ends in residuals_of(drawing):
        writer.residual(checked, ends)
    return writer.items


def _point_block(centre: Centre, units: Units, mark: bool = False) -> Block:
    """What is written at a point: its name, bold but for a mark; its place; how sure it is."""
    names = wrapped(centre.name, _NAME_WIDTH_PT, _NAME_PT, not mark)
    lines = [Line(text, _NAME_PT, SOFT_INK if mark else INK, not mark, f"name {centre.name}") for text in names]
    if centre.is_undetermined:
        return Block((*lines, Line("not held: drawn by a guess", _TEXT_PT, SOFT_INK, name=f"at {centre.name}")))
    x, y = centre.at_mm
    words = in_units(f"{number(x, 1)}, {number(y, 1)} mm", units)
    lines.append(Line(words, _TEXT_PT, INK, name=f"at {centre.name}"))
    if centre.sd_mm:
        words = f"\N{PLUS-MINUS SIGN}{centre.sd_x_mm:.1f}, \N{PLUS-MINUS SIGN}{centre.sd_y_mm:.1f} mm"
        lines.append(Line(in_units(words, units), _TEXT_PT, SOFT_INK, name=f"deviation {centre.name}"))
    return Block(tuple(lines))


def _residual_words(each: Checked, units: Units) -> str:
    """How much a reading reads too much: in the units of lengths, or deg with its sign."""
    if each.reading.unit == "deg":
        return f"{each.error:+.1f}\N{DEGREE SIGN}"
    return in_units(f"{each.error:+.1f} mm", units).partition(" ")[0]


def _around(x: float, y: float, width: float, height: float) -> Box:
    return (x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height)


def _reaches(drawing: Drawing) -> list[float]:
    """How far round each point labels keep clear, mm: rim, cross, and an ellipse that is not large."""
    rims, reach = rims_of(drawing.found), []
    for centre in drawing.found.centres:
        least = (RING_PT if centre.is_undetermined else CROSS_PT) / drawing.unit_pt
        wide = _wide(drawing, centre.name)
        reach.append(max(least, rims.get(centre.name, 0.0), wide if wide <= ELLIPSE_PT / drawing.unit_pt else 0.0))
    return reach


def _wide(drawing: Drawing, name: str) -> float:
    outline = drawing.ellipses.outlines.get(name)
    return 0.0 if outline is None else reach_mm(drawing.found, name, outline)


def _large_outlines(drawing: Drawing) -> list[Floats]:
    """Pieces of the outlines of large ellipses: labels stand inside or outside, not on them."""
    outlines = drawing.ellipses.outlines
    large = [name for name in outlines if _wide(drawing, name) > ELLIPSE_PT / drawing.unit_pt]
    rings = [outlines[name][::_OUTLINE_STEP] for name in large]
    return [piece for ring in rings for piece in np.stack((ring, np.roll(ring, -1, axis=0)), axis=1)]


def _keep_out(drawing: Drawing, edges: tuple[float, float]) -> KeepOut:
    found, unit_pt = drawing.found, drawing.unit_pt
    ghosts = np.array([at for mirror in found.mirrors for at in mirror.places]).reshape(-1, 2)
    at_points = [each.reading for each in drawing.numbered if ends_of(found, each.reading) is None]
    rings = [at_of(found, reading.points[0]) for reading in at_points]
    extra = np.concatenate((ghosts, np.array(rings).reshape(-1, 2)))
    small = np.append(np.full(len(ghosts), GHOST_PT), np.full(len(rings), RING_PT)) / unit_pt
    lines = [piece for _, ends in lines_of(found) for piece in np.stack((ends[:-1], ends[1:]), axis=1)]
    level = float(at_of(found, found.measured.origin)[1])
    lines.append(np.array([(edges[0], level), (edges[1], level)]))
    lines += _large_outlines(drawing)
    ends = np.array([(line[0], line[-1]) for line in lines])
    return KeepOut(
        np.concatenate((found.places, extra)),
        np.append(np.array(_reaches(drawing)), small),
        ends[:, 0],
        ends[:, 1],
        np.full(len(ends), 0.8 / unit_pt),
        *edges,
    )
