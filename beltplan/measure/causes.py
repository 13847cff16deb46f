"""One slip that speaks against several readings at once: all angles from plumb, a level that is none, a wrong side."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, product
from typing import Any, NamedTuple

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.images import POINTS_NEEDED, fitted, mapped
from beltplan.measure.misreadings import WAYS
from beltplan.measure.network import Network, surveyed
from beltplan.measure.readings import OPPOSITE, Direction, Distance, Hand, Image, Measured, Pick, Pixel, Reading
from beltplan.measure.solutions import Solution, contradicted, fits, is_as_seen, single_limit, solutions_of, solved
from beltplan.measure.values import listed

_Pair = tuple[Any, Any, str]
"""Two readings that are easily exchanged, and how that is said."""
_PLAINLY = 0.25
"""Two names are plainly exchanged where no other two leave a picture off by less than four times as much, squared."""
_HANDS: tuple[tuple[Hand, ...], ...] = (("y_runs",), ("seen_from",))


class Cause(NamedTuple):
    """What explains several contradictions at once. kind: for programs; words: for people.

    readings: those that it speaks against. sides: the words of `sides` that it speaks against, by point.
    """

    kind: str
    words: str
    readings: tuple[Reading, ...] = ()
    sides: tuple[tuple[str, SeenSide], ...] = ()

    def believed(self, measured: Measured) -> Measured:
        """What was measured without the words of `sides` that it speaks against."""
        every = measured.sides.items()
        kept = {name: tuple(word for word in words if (name, word) not in self.sides) for name, words in every}
        return replace(measured, sides={name: words for name, words in kept.items() if words})


def seen_otherwise(measured: Measured, solutions: Sequence[Solution]) -> tuple[Cause | None, Solution] | None:
    """Why points do not lie where they are seen though the readings agree; None where they do not agree anywhere.

    The solution that speaks against fewest words of `sides`. One word is wrong, or all angles count otherwise.
    """
    every_fit = [each for each in solutions if fits(each)]
    if not every_fit:
        return None
    best = min(every_fit, key=lambda each: len(contradicted(measured, each.places)))
    against = contradicted(measured, best.places)
    every = [(name, word) for name, words in measured.sides.items() for word in words]
    ways = [(kind, words) for kind, words, changed in _angles_otherwise(measured) if agreeing(changed)]
    told = f"{_all_angles(measured)} {', or '.join(words for _, words in ways)}" if ways else ""
    if len(against) == 1 and (len(every) > 1 or not ways):
        return _wrong_side(measured, best, *against[0], told), best
    if ways:
        return Cause(ways[0][0], f"`sides` and all readings agree if {told}", measured.directions), best
    across = [pair for pair in every if pair[1] in ("left", "right")]
    if len(across) > 1 and against == across:
        words = "every left and right of `sides` is the other way round: were they seen from the back?"
        return Cause("seen from the back", words, sides=tuple(against)), best
    return None, best


def _wrong_side(measured: Measured, best: Solution, name: str, word: SeenSide, otherwise: str) -> Cause:
    away_mm = abs(float(best.places[measured.points.index(name), int(word in ("above", "below"))]))
    words = (
        f"{name} is written `{word}`, but by all readings it lies {away_mm:.1f} mm to the other side of "
        f"{measured.origin}; everything else agrees. Look again from the front; if so, write `{OPPOSITE[word]}`"
    )
    return Cause("wrong side", f"{words}. Or {otherwise}" if otherwise else words, sides=((name, word),))


def whole_set(measured: Measured, network: Network) -> tuple[Cause, Solution] | None:
    """One slip that more than one reading shares, and the solution without them; None where none explains all."""
    many = len(measured.directions)
    others_turn = measured.level is not None or len(measured.offsets) > 0
    for kind, told, changed in _angles_otherwise(measured) if many > 1 else ():
        for found in agreeing(changed)[:1]:
            words = f"everything fits if {_all_angles(measured)} {told}"
            return _without(network, measured.directions, found, Cause(kind, words, measured.directions))
    if measured.level is not None:
        for found in agreeing(replace(measured, level=None))[:1]:
            return _without_level(measured, measured.level, network, found)
    for found in agreeing(replace(measured, directions=())) if many > 1 and others_turn else ():
        turn, is_common = _common_turn(measured, found)
        if is_common:
            much = f"{abs(turn):.1f} deg too {'much' if turn > 0.0 else 'little'}"
            told = f"{_all_angles(measured)} read {much} by all the others: was the level set to zero?"
            return _without(network, measured.directions, found, Cause("turned", told, measured.directions))
    return None


def exchanged(measured: Measured, network: Network, pairs: Iterable[_Pair]) -> tuple[Cause, Solution] | None:
    """Two readings that are exchanged, and the solution without them; None where no such pair explains all."""
    for one, other, told in pairs:
        for found in agreeing(_with_exchanged(measured, one, other))[:1]:
            cause = Cause("exchanged", f"everything fits if {told}", (one, other))
            # A mark that only its picture shows is loose without its pick: then that has its say.
            return _without(network, (one, other), found, cause) or _without(network, (one,), found, cause)
    return None


def names_exchanged(measured: Measured) -> Iterator[tuple[Reading, ...]]:
    """Two places of a picture that are plainly exchanged by where the points lie without that picture."""
    for image in (each for each in measured.images if not each.given):
        for where in _places_without(measured, image):
            picks = [each for each in image.picks if not each.is_of_rim]
            pairs = [pair for pair in combinations(picks, 2) if {each.point for each in pair} & where.keys()]
            off = {pair: _off_by(image, where, pair) for pair in pairs}
            best, second = sorted(pairs, key=off.__getitem__)[:2]
            if off[best] < _PLAINLY * off[second]:
                yield best


def _places_without(measured: Measured, image: Image) -> Iterator[dict[str, Floats]]:
    """Where points of a picture may lie by all but that picture, where that is known of more than enough of them."""
    others = tuple(each for each in measured.images if each.of != image.name)
    rest, enough = replace(measured, images=others), POINTS_NEEDED[image.model] + 1
    tied = dict(zip(measured.points, surveyed(rest).tied, strict=True))
    # Where hardly a point is tied to another any more, to lay them takes long and tells nothing.
    for end in agreeing(rest) if sum(tied[name] for name in image.places) > enough else ():
        held = zip(measured.points, end.places, ~end.undetermined, strict=True)
        where = {name: at for name, at, is_held in held if is_held and name in image.places}
        if len(where) > enough:
            yield where


def _off_by(image: Image, where: dict[str, Floats], pair: tuple[Pick, Pick]) -> float:
    """Sum of squares by which a picture is off from places of its points, two of its own exchanged, px2."""
    at = _places_exchanged(*pair)
    points, seen = np.array([*where.values()]), np.array([at[name] for name in where])
    shown, _, _ = mapped(image.model, image.px_per_mm, fitted(image.model, image.px_per_mm, points, seen), points)
    return float(np.sum((shown - seen) ** 2))


def _places_exchanged(one: Pick, other: Pick) -> dict[str, Pixel]:
    return {**one.on.places, one.point: other.at, other.point: one.at}


def _with_exchanged(measured: Measured, one: Any, other: Any) -> Measured:
    if isinstance(one, Pick):
        places = _places_exchanged(one, other)
        images = (replace(each, places=places) if each is one.on else each for each in measured.images)
        return replace(measured, images=tuple(images))
    swap = {one: replace(one, value_mm=other.value_mm), other: replace(other, value_mm=one.value_mm)}
    offsets = tuple(swap.get(each, each) for each in measured.offsets)
    distances = tuple(swap.get(each, each) for each in measured.distances)
    return replace(measured, offsets=offsets, distances=distances)


def paired(sets: Iterable[tuple[Reading, ...]]) -> Iterator[_Pair]:
    """Distances, and places on one picture, among sets of readings without which all fits."""
    for one, other in (own for own in sets if len(own) == 2):
        if isinstance(one, Distance) and isinstance(other, Distance) and one.between == other.between:
            yield one, other, _taped_words(one, other)
        elif isinstance(one, Pick) and one.image is other.image and not (one.is_of_rim or other.is_of_rim):
            yield one, other, _exchanged_words(one, other)


def _taped_words(one: Distance, other: Distance) -> str:
    meant = " and ".join(each.written or f"{each.value_mm:g} mm" for each in (other, one))
    return f"{_exchanged_words(one, other)}: write {meant}"


def _exchanged_words(one: Reading, other: Reading) -> str:
    return f"{one.words} (line {one.line}) and {other.words} (line {other.line}) are exchanged"


def alike_pairs(measured: Measured) -> Iterator[_Pair]:
    """Offsets, and distances, that are easily exchanged: x and y of a point, what was taped to the ends of a slide."""
    for x, y in product(measured.offsets, measured.offsets):
        if (x.axis, y.axis) == ("x", "y") and x.points == y.points:
            meant = ", ".join(f"{axis}: {of.written or f'{of.value_mm:g} mm'}" for axis, of in (("x", y), ("y", x)))
            yield x, y, f"x and y of {x.point} (line {x.line}) are exchanged: write `{x.point}: {{{meant}}}`"
    taped = {
        way: [each for each in measured.distances if any(name.endswith(way) for name in each.points)]
        for way in (".from", ".to")
    }
    for start, end in product(*taped.values()):
        (at,) = {*start.points} & {*end.points} if len({*start.points, *end.points}) == 3 else ("",)
        ends = [name for each in (start, end) for name in each.points if name != at]
        slide = ends[0].removesuffix(".from")
        if ends == [f"{slide}.from", f"{slide}.to"] and start.between == end.between:
            yield start, end, _taped_words(start, end)


def mirrored(measured: Measured) -> Iterator[tuple[str, Measured]]:
    """What was measured with one picture, or all, the other way round, by the words of the file that would say so."""
    pictures = [each for each in measured.images if not each.given and len({*each.places, *each.rims}) > 2]
    known = {each.of for each in measured.images if each.given}
    for own in [*((each,) for each in pictures), *([tuple(pictures)] if len(pictures) > 1 else [])]:
        names = {each.name for each in own}
        # Without known places on it both words say the same.
        for keys in _HANDS if names & known else (_HANDS[0] + _HANDS[1],):
            images = tuple(each.mirrored(keys[0]) if each.of in names else each for each in measured.images)
            told = (" or ".join(f"`{key}: {getattr(each.mirrored(key), key)}`" for key in keys) for each in own)
            words = (
                f"{said} at {each.name} (line {each.line_of(*keys)})" for said, each in zip(told, own, strict=True)
            )
            yield " and ".join(words), replace(measured, images=images)


def scaled(measured: Measured) -> Iterator[tuple[Image, Measured]]:
    """What was measured with the scale of one picture, or of what is known of it, left open, and that picture."""
    for image in measured.images:
        if image.model == "rigid":
            free = replace(image, model="similar")
            images = tuple(free if each is image else each for each in measured.images)
            yield free, replace(measured, images=images)


def _angles_otherwise(measured: Measured) -> Iterator[tuple[str, str, Measured]]:
    for kind, way in WAYS.items():
        if Direction in way.of and measured.directions:
            right = (replace(each, value_rad=math.radians(way.right(each.value))) for each in measured.directions)
            yield kind, way.words.format(write=""), replace(measured, directions=tuple(right))


def one_otherwise(measured: Measured) -> Iterator[Measured]:
    for i, own in enumerate(measured.directions):
        for _, _, changed in _angles_otherwise(replace(measured, directions=(own,))):
            angles = (*measured.directions[:i], *changed.directions, *measured.directions[i + 1 :])
            yield replace(measured, directions=angles)


def _all_angles(measured: Measured) -> str:
    many, lines = len(measured.directions), listed([str(each.line) for each in measured.directions])
    if many == 1:
        return f"{measured.directions[0].words} (line {lines}) was"
    return f"{'both' if many == 2 else f'all {many}'} angles (lines {lines}) were"


def agreeing(measured: Measured) -> list[Solution]:
    """Its solutions that fit and lie as they are seen."""
    every = solutions_of(measured, surveyed(measured))
    return [each for each in every if fits(each) and is_as_seen(measured, each.places)]


def _without(
    network: Network, readings: tuple[Reading, ...], near: Solution, cause: Cause
) -> tuple[Cause, Solution] | None:
    """With the solution of the network from which readings are left out; None where that leaves a point loose."""
    rows = tuple(row for each in readings for row in network.rows[each])
    (found,) = solved(network, [near.at.unknowns], [rows])
    return (cause, found) if fits(found) and not (found.undetermined & ~near.undetermined).any() else None


def _without_level(
    measured: Measured, level: tuple[str, str], network: Network, near: Solution
) -> tuple[Cause, Solution] | None:
    left, right = (near.places[measured.points.index(name)] for name in level)
    slope = float(np.degrees(np.arctan2(*(right - left)[::-1])))
    words = (
        f"by all the others {level[0]} - {level[1]} stands at {slope:.1f} deg, but `level` says that "
        "it is level, the second to the right. Look again, or take `level` out"
    )
    taken = tuple(each for each in network.rows if each not in network.readings)
    return _without(network, taken, near, Cause("level", words, taken))


def _common_turn(measured: Measured, near: Solution) -> tuple[float, bool]:
    """By how much the angles read too much where they had no say, deg, and whether by no more than chance the same."""
    where = dict(zip(measured.points, near.places, strict=True))
    steps = np.array([where[each.second] - where[each.first] for each in measured.directions])
    offs = np.array([each.value for each in measured.directions]) - np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    apart = np.remainder(offs - offs[0] + 180.0, 360.0) - 180.0
    shares = (apart - apart.mean()) / np.array([each.sd for each in measured.directions])
    turn = math.remainder(float(offs[0] + apart.mean()), 360.0)
    return turn, bool(np.max(shares**2) <= single_limit(len(offs)))
