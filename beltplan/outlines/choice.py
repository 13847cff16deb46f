"""The one outline of a drawing that is the obstacle: lines put together, holes left out, corners thinned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from beltplan.faults import quoted
from beltplan.geometry.shapes import MOST_OUTERMOST, are_inside, crossing_at, flooded, hull_area, outermost, thinned
from beltplan.geometry.vectors import Floats
from beltplan.outlines.curves import Map, chained, flattened, scaled, without_repeats
from beltplan.outlines.drawing import MOST_POINTS, MOST_WRONG, Drawing, Piece, Wrong, WrongDrawing, counted

_JOINT_MM = 0.05
"""Ends of lines that are no farther apart belong together."""
_SAME_MM = 1e-4
"""Points no farther apart are the same: rounding in a file."""
_CHORD_MM = 0.02
"""How far a chord may leave its curve."""
_PLENTY = 100
"""An outline of so many corners is taken as it is: what follows is quick enough."""
_MOST_LEFT = 400
"""Corners that an outline may keep. A map of places takes some 15 ms more for each, a check 0.1 ms."""
_THIN_MM = 0.05
_COARSE_MM = (0.1, 0.2, 0.4, 0.8)
"""Steps of thinning for an outline too rough for the finest, each to the outside."""
_LEAST_AREA_MM2 = 1e-3
_FARTHEST_MM = 1e6


@dataclass(frozen=True, eq=False)
class Found:
    """A closed outline in mm round the drawing's origin.

    circle: centre and radius where it is a true one. names: what its pieces are called.
    """

    corners: Floats
    circle: tuple[Floats, float] | None = None
    names: tuple[str, ...] = ()


def found_in(drawing: Drawing, mm_per_unit: float, wanted: str | None) -> Found:
    """The one outline. wanted: the layer or id that it has, None for all there is. Raises WrongDrawing."""
    pieces = _chosen(drawing, wanted)
    WrongDrawing.refuse([Wrong(*piece.refused, piece.line) for piece in pieces if piece.refused is not None])
    to_mm = scaled(mm_per_unit, drawing.up * mm_per_unit)
    loops, loose = _put_together(drawing, [_moved(piece, to_mm) for piece in pieces], to_mm)
    loops = [loop for loop in loops if len(loop.corners) > 2 and hull_area(loop.corners) > _LEAST_AREA_MM2]
    for loop in loops:
        if left := flooded(loop.corners, _COARSE_MM[-1]):
            raise _rough(left)
    loops = [loops[i] for i in outermost([loop.corners for loop in loops])] if loops else []
    inside = np.zeros(len(loose), dtype=bool)
    for loop in loops[:MOST_OUTERMOST]:
        inside |= are_inside(loose, loop.corners)
    _refuse_open([line for line, is_in in zip(loose, inside, strict=True) if not is_in], to_mm, drawing)
    loop = _the_one(drawing, loops, wanted, to_mm)
    return loop if loop.circle else replace(loop, corners=_thin(loop.corners, to_mm))


def _chosen(drawing: Drawing, wanted: str | None) -> list[Piece]:
    if wanted is None:
        return list(drawing.pieces)
    fold = str.casefold if drawing.kind == "DXF" else str
    pieces = [piece for piece in drawing.pieces if fold(wanted) in map(fold, piece.names)]
    if not pieces:
        there = list(dict.fromkeys(name for piece in drawing.pieces for name in piece.names))
        allowed = counted(there) or f"no `outline`: the drawing has no {drawing.name_word}s"
        raise WrongDrawing.of(f"no {drawing.name_word} {quoted(wanted)} with an outline", allowed)
    return pieces


def _moved(piece: Piece, to_mm: Map) -> Piece:
    curves = tuple(curve.moved(to_mm) for curve in piece.curves)
    if any(not curve.reach <= _FARTHEST_MM for curve in curves):
        far = f"{piece.what} that reaches farther than {_FARTHEST_MM / 1000.0:g} m from the origin"
        raise WrongDrawing.of(f"a {far}", "a drawing near its origin, in the right unit", piece.line)
    return replace(piece, curves=curves)


def _put_together(drawing: Drawing, pieces: list[Piece], to_mm: Map) -> tuple[list[Found], list[Floats]]:
    lines, count = [], 0
    for piece in pieces:
        lines.append(flattened(piece.curves, _CHORD_MM, MOST_POINTS))
        count += len(lines[-1])
        if count > MOST_POINTS:
            raise WrongDrawing.of(f"more than {MOST_POINTS} points", "a simpler drawing, or the right unit")
    pairs = list(zip(pieces, lines, strict=True))
    loops = [Found(_opened(line), piece.circle, piece.names) for piece, line in pairs if _is_closed(piece, line)]
    rest = [(piece, line) for piece, line in pairs if len(line) > 1 and not _is_closed(piece, line)]
    chains = chained([line for _, line in rest], _JOINT_MM)
    round_one = f"lines end to end round one edge, {_by_name(drawing)}" if chains.forks else ""
    WrongDrawing.refuse(
        [Wrong(f"more than two lines that meet at {_place(at, to_mm)}", round_one) for at in chains.forks]
    )
    for line, made_of in (*chains.closed, *(chains.open if drawing.fills else ())):
        names = dict.fromkeys(name for i in made_of for name in rest[i][0].names)
        loops.append(Found(_opened(line), names=tuple(names)))
    return loops, [] if drawing.fills else [line for line, _ in chains.open]


def _is_closed(piece: Piece, line: Floats) -> bool:
    """Whether it ends where it began: said by the drawing, or so drawn."""
    return piece.closed or (len(line) > 3 and float(np.abs(line[0] - line[-1]).max()) <= _SAME_MM)


def _opened(line: Floats) -> Floats:
    """A closed line without its first point again at the end."""
    line = without_repeats(line)
    return line[:-1] if len(line) > 1 and np.abs(line[0] - line[-1]).max() <= _SAME_MM else line


def _by_name(drawing: Drawing) -> str:
    names = counted(dict.fromkeys(name for piece in drawing.pieces for name in piece.names))
    return f"told from others by `outline`: its {drawing.name_word}" + (f" ({names})" if names else "")


def _refuse_open(lines: Sequence[Floats], to_mm: Map, drawing: Drawing) -> None:
    """Tell of each open line the narrower of the gaps at its two ends."""
    ends = np.array([end for line in lines for end in (line[0], line[-1])]).reshape(-1, 2)
    wrong = [_gap(i, ends, to_mm, drawing) for i in range(min(len(lines), MOST_WRONG))]
    if len(lines) > MOST_WRONG:
        wrong.append(Wrong(f"{len(lines) - MOST_WRONG} more open lines", "none"))
    if wrong:
        raise WrongDrawing(*wrong)


def _gap(index: int, ends: Floats, to_mm: Map, drawing: Drawing) -> Wrong:
    own = ends[2 * index : 2 * index + 2]
    apart = np.hypot(*(ends[None, :] - own[:, None]).transpose(2, 0, 1))
    apart[[0, 1], [2 * index, 2 * index + 1]] = np.inf
    which, near = np.unravel_index(int(apart.argmin()), apart.shape)
    width, places = apart[which, near], (_place(own[which], to_mm), _place(ends[near], to_mm))
    words = f"an open line, with a gap of {width:.3g} mm from {places[0]} to {places[1]}"
    return Wrong(words, f"gaps of at most {_JOINT_MM:g} mm; or one closed outline, {_by_name(drawing)}")


def _the_one(drawing: Drawing, loops: list[Found], wanted: str | None, to_mm: Map) -> Found:
    if len(loops) == 1:
        return loops[0]
    if not loops:
        words = counted(f"{count} {what}" for what, count in Counter(piece.what for piece in drawing.pieces).items())
        raise WrongDrawing.of(f"no closed outline ({words or 'an empty drawing'})", "one closed outline")
    known = Counter(name for loop in loops for name in loop.names)
    tell = [name for name, count in known.items() if count == 1 and name != wanted]
    allowed = f"`outline` with one: {counted(tell)}" if tell else f"one, told by its own {drawing.name_word}"
    words = counted((_size(loop, to_mm) for loop in loops), 6)
    raise WrongDrawing.of(f"{len(loops)} outlines, none inside another: {words}", allowed)


def _size(loop: Found, to_mm: Map) -> str:
    low, high = loop.corners.min(axis=0), loop.corners.max(axis=0)
    width, height = high - low
    name = f"{quoted(loop.names[0])}, " if loop.names else ""
    return f"{name}{width:.4g} by {height:.4g} mm round {_place(0.5 * (low + high), to_mm)}"


def _place(point: Floats, to_mm: Map) -> str:
    """A point in the drawing's own coordinates, as the user can look for it there."""
    x, y = point / np.diag(to_mm.matrix) + 0.0
    return f"({x:.6g}, {y:.6g})"


def _thin(corners: Floats, to_mm: Map) -> Floats:
    crossing = crossing_at(corners)
    if crossing is not None:
        words = f"an outline that crosses or touches itself near {_place(np.array(crossing), to_mm)}"
        raise WrongDrawing.of(words, "an outline round one area")
    if len(corners) <= _PLENTY:
        return corners
    for within in (_THIN_MM, *_COARSE_MM):
        left = thinned(corners, within, outward=within > _THIN_MM)
        if len(left) <= _MOST_LEFT:
            return left
    raise _rough(len(left))


def _rough(left: int) -> WrongDrawing:
    words = f"an outline so rough that {left} corners are left within {_COARSE_MM[-1]:g} mm of it"
    return WrongDrawing.of(words, f"at most {_MOST_LEFT}: smooth it in the drawing program")
