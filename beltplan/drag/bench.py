"""The bench: the layouts of one file while a hand works on them. What mouse and keys do; nothing of a screen."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace

from beltplan.checks.plan import Plan
from beltplan.drag import hand
from beltplan.drag.hand import SNAPS_MM, Session, Spot
from beltplan.drag.live import live_of, map_of
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Layout
from beltplan.drive.route import with_known_push
from beltplan.faults import LayoutFaults
from beltplan.layoutfile.layout_file import LayoutFile, read_every_layout
from beltplan.picture.scene import Raster

KEYS: Mapping[str, str] = {
    "drag": "move a pulley or an obstacle; the adjusted pulley runs along its travel",
    "wheel": "diameter of the pulley under the pointer",
    "arrows": "nudge by 1 mm, with Shift by 0.1 mm",
    "b": "the belt's other side",
    "v": "next variant of the file",
    "u, y": "undo, redo",
    "a": "flip between start and now",
    "g": "snap: off, 1 mm, 1/16 in",
    "m": "map of the pulley under the pointer",
    "s": "save",
    "?": "these keys",
}
"""What mouse and keys do."""
_SNAP_WORDS = ("snap off", "snap 1 mm", "snap 1/16 in")
_ARROWS: Mapping[str, Spot] = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "up": (0.0, 1.0), "down": (0.0, -1.0)}

_Save = Callable[[LayoutFile, Layout], str]
"""Writes what a file's layout was changed to; returns what to say of it."""


@dataclass(frozen=True, eq=False)
class _Held:
    """A part in the hand: how far its place is from the pointer, and what there was before it was taken."""

    name: str
    offset: Spot
    before: Session


class Bench:
    """A file on the bench. What is seen follows from `live`, `start`, `sound`, `setting` and `map`.

    start: what the file has. sound: the last layout that had a belt path. setting: where the adjusted pulley is held,
    None where the belt puts it. message: of what was just done; fault: what is wrong with the file since it was saved
    elsewhere. Raises LayoutFaults where the file has faults.
    """

    def __init__(self, path: str, variant: str | None, save: _Save) -> None:
        self.path, self._save = path, save
        self._stamp, self._files = _stamp(path), _files_of(path, variant)
        self._sessions = {name: Session(file.layout, file.layout) for name, file in self._files.items()}
        self.pointed = ""
        self.variant = next(name for name, file in self._files.items() if file.is_asked)
        self._held: _Held | None = None
        self.setting: float | None = None
        self.map: Raster | None = None
        self._snap, self._at_start, self.message, self.fault = 0, False, "", ""
        self.live = self.start = live_of(self.session.start)
        self.sound: Plan | None = self.live.plan

    @property
    def drawings(self) -> tuple[str, ...]:
        return self._files[None].drawings

    @property
    def session(self) -> Session:
        return self._sessions[self.variant]

    @property
    def now(self) -> Layout:
        return self.session.now

    @property
    def snap_words(self) -> str:
        return _SNAP_WORDS[self._snap] + (", the START is shown" if self._at_start else "")

    def judge(self, at_rest: bool = True) -> None:
        """See what the layout in hand comes to. at_rest: with the drive running, which takes most of the time."""
        layout = self.session.start if self._at_start else self.now
        if self.live.layout is not layout or self.live.at_rest is not at_rest:
            self.live = live_of(layout, at_rest)
        self.sound = self.live.plan or self.sound

    # The mouse. Places are in mm of the layout.

    def take(self, spot: Spot) -> None:
        name = self._part_at(spot)
        if name is None:
            return
        at = hand.place_of_part(self.now, name) or spot
        self._held = _Held(name, (at[0] - spot[0], at[1] - spot[1]), self.session)
        self.map = self.map if name == self.pointed else None
        self._at_start, self.message, self.pointed = False, "", name

    def move(self, spot: Spot) -> bool:
        """Bring what is held to a place, or point at what is there. Returns whether anything is seen of it."""
        if self._held is None:
            self.pointed = self._part_at(spot) or self.pointed
            return False
        name, (dx, dy) = self._held.name, self._held.offset
        adjuster = self.now.pulleys[name].adjuster if name in self.now.pulleys else None
        if adjuster is not None:
            self.setting = hand.setting_toward(adjuster, spot)
            return True
        to = hand.snapped((spot[0] + dx, spot[1] + dy), SNAPS_MM[self._snap])
        self._sessions[self.variant] = self._held.before.to(hand.put(self._held.before.now, name, to))
        self.judge(at_rest=False)
        return True

    def let_go(self) -> None:
        self._held = self.setting = None
        self.judge()

    def turn_wheel(self, spot: Spot, steps: int) -> None:
        name = self._part_at(spot)
        if name in self.now.pulleys:
            self._change(hand.resized(self.now, str(name), steps))

    def _part_at(self, spot: Spot) -> str | None:
        return hand.part_at(self.now, dict(self.live.centres), spot)

    # The keys.

    def press(self, key: str) -> None:
        shift, _, arrow = key.rpartition("+")
        if arrow in _ARROWS:
            self._nudge(_ARROWS[arrow], 0.1 if shift == "shift" else 1.0)
        elif key in {*"bvuyagms?"}:
            self.message = ""
            self._answer(key)
            self.judge()

    def _answer(self, key: str) -> None:
        match key:
            case "b" if self.pointed in self.now.pulleys:
                self._change(hand.other_side(self.now, self.pointed))
            case "v":
                names = list(self._files)
                self.variant = names[(names.index(self.variant) + 1) % len(names)]
                self._begin()
            case "u":
                self._sessions[self.variant] = self.session.undone()
            case "y":
                self._sessions[self.variant] = self.session.redone()
            case "a":
                self._at_start = not self._at_start
            case "g":
                self._snap = (self._snap + 1) % len(SNAPS_MM)
            case "m":
                self._map()
            case "s":
                self.message = "nothing to save: nothing was changed"
                if self.session.is_changed:
                    self.message = self._save(self._files[self.variant], self.now)
            case "?":
                self.message = "; ".join(f"{key}: {words}" for key, words in KEYS.items())

    def _nudge(self, way: Spot, by_mm: float) -> None:
        at = hand.place_of_part(self.now, self.pointed) if self.pointed else None
        if at is not None:
            self._change(hand.put(self.now, self.pointed, (at[0] + by_mm * way[0], at[1] + by_mm * way[1])))

    def _change(self, layout: Layout) -> None:
        self._at_start, self.message, self.map = False, "", None
        self._sessions[self.variant] = self.session.to(layout)
        self.judge()

    def _begin(self) -> None:
        self.map, self._at_start, self.pointed = None, False, ""
        self.start = live_of(self.session.start)
        self.sound = self.start.plan

    def _map(self) -> None:
        pulley = self.now.pulleys.get(self.pointed)
        if self.map is not None or not self.pointed:
            self.map = None
        elif pulley is None or pulley.at_mm is None or pulley.name not in self.now.route:
            self.message = f"{self.pointed}: only a pulley on the belt with a place of its own has a map"
        else:
            self.map = map_of(self.now, pulley.name)
            self.message = f"map of {pulley.name}: the darker, the larger the margin; sand: short; bare: does not work"

    # The file.

    def look_at_file(self) -> bool:
        """Take the file anew where it was saved elsewhere; a fault in it stands over the last good state.

        Returns whether anything was to be seen.
        """
        stamp = _stamp(self.path)
        if stamp is None or stamp == self._stamp:  # an editor may take the file away for a moment
            return False
        self._stamp = stamp
        try:
            self._reread(_files_of(self.path))
        except LayoutFaults as faults:
            self.fault = str(faults)
        return True

    def _reread(self, files: dict[str | None, LayoutFile]) -> None:
        known, self._files, self.fault = self._sessions, files, ""
        self._sessions = {
            name: known[name].reread(file.layout) if name in known else Session(file.layout, file.layout)
            for name, file in files.items()
        }
        self.variant = self.variant if self.variant in files else None
        self._begin()
        self.judge()
        self.message = "the file was saved elsewhere and is shown anew; u leads back to your changes"

    # What is said.

    @property
    def readout(self) -> str:
        """Of the part that the hand holds or points at."""
        name = self._held.name if self._held else self.pointed
        if not name:
            return ""
        if self.setting is not None and self.live.plan is not None:
            loop = self.live.plan.route.circuit.loop_at(self.setting)
            held = f"held here the path is {loop.length:.1f} mm ({loop.length / MM_PER_INCH:.2f} in)"
            return f"{name}: {held if loop.exists else 'no belt path here'}"
        shift = self.session.shift_mm(name)
        told = "" if shift is None else f", moved {_both(shift[0])} in x, {_both(shift[1])} in y"
        pulley = self.now.pulleys.get(name)
        across = None if pulley is None else pulley.diameter_mm
        size = "" if across is None else f", diameter {across:g} mm ({across / MM_PER_INCH:.3f} in)"
        return f"{name}{size}{told}"


def _both(mm: float) -> str:
    return f"{mm:+.1f} mm ({mm / MM_PER_INCH:+.3f} in)"


def _files_of(path: str, variant: str | None = None) -> dict[str | None, LayoutFile]:
    """By the name of the variant, None the file as it stands. Raises LayoutFaults. variant: one that must be there."""
    known = (replace(file, layout=with_known_push(file.layout)) for file in read_every_layout(path, variant))
    return {file.layout.variant: file for file in known}


def _stamp(path: str) -> tuple[int, int] | None:
    with suppress(OSError):
        seen = os.stat(path)
        return seen.st_mtime_ns, seen.st_size
    return None
