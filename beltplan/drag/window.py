"""The window: hands what mouse and keys do to the bench, and draws what lies on it. The one part with matplotlib."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backend_bases import MouseEvent
from matplotlib.figure import Figure
from matplotlib.ticker import AutoLocator
from matplotlib.transforms import Affine2D, Transform

from beltplan.drag.bench import Bench
from beltplan.drag.hand import Spot
from beltplan.drag.view import drawn_items, limits_of, panel_items
from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Units
from beltplan.picture.painter import artists_of, lettering_of, own_settings
from beltplan.picture.paper import POINTS_PER_INCH
from beltplan.picture.scene import Item, Label

SIZE_IN = (13.0, 8.2)
_PANEL_IN, _PAD_IN = 4.6, 0.12
_REST_MS, _WATCH_MS = 60, 500
_GRID = "#e4e8ec"


class Window:
    """A bench in a figure. items: what is drawn, the layout in mm and the panel in points."""

    def __init__(self, figure: Figure, bench: Bench) -> None:
        self.figure, self.bench = figure, bench
        self.items: tuple[list[Item], list[Item]] = ([], [])
        self.axes = _axes_of(figure, bench)
        self._under: Any = None
        self._drawn: list[Any] = []
        connect: Any = figure.canvas.mpl_connect
        connect("draw_event", lambda event: self._drawn_anew())
        connect("resize_event", lambda event: self._resized())
        connect("button_press_event", self._pressed)
        connect("motion_notify_event", self._moved)
        connect("button_release_event", lambda event: self._done(bench.let_go))
        connect("scroll_event", self._wheel)
        connect("key_press_event", lambda event: self._done(lambda: bench.press(event.key or "")))
        self._rest_timer = self._timer(_REST_MS, self.rest)
        self._rest_timer.single_shot = True
        self._watch_timer = self._timer(_WATCH_MS, self.look_at_file)
        self._watch_timer.start()
        self._draw()

    def rest(self) -> None:
        """The hand rests: the running drive is judged as well."""
        self._done(self.bench.judge)

    def look_at_file(self) -> None:
        if self.bench.look_at_file():
            self._draw()

    def spot_of(self, event: MouseEvent) -> Spot | None:
        """Where in the layout the pointer is, mm; None beside the drawing."""
        if not self.axes.bbox.contains(event.x, event.y):
            return None
        x, y = self.axes.transData.inverted().transform((event.x, event.y))
        return float(x), float(y)

    # What mouse and keys do.

    def _pressed(self, event: MouseEvent) -> None:
        spot = self.spot_of(event)
        if event.button == 1 and spot is not None:
            self.bench.take(spot)

    def _moved(self, event: MouseEvent) -> None:
        spot = self.spot_of(event)
        if spot is not None and self.bench.move(spot):
            self._draw()
            self._rest_timer.stop()
            self._rest_timer.start()

    def _wheel(self, event: MouseEvent) -> None:
        spot = self.spot_of(event)
        if spot is not None:
            self._done(lambda: self.bench.turn_wheel(spot, 1 if event.step > 0 else -1))

    def _done(self, answer: Callable[[], None]) -> None:
        answer()
        self._draw()

    def _timer(self, interval_ms: int, answer: Callable[[], None]) -> Any:
        timer = self.figure.canvas.new_timer(interval_ms)
        timer.add_callback(answer)
        return timer

    # What is drawn: what lies under all that moves is kept, and only the rest is drawn anew.

    def _drawn_anew(self) -> None:
        canvas: Any = self.figure.canvas
        self._under = canvas.copy_from_bbox(self.figure.bbox)
        self._draw()

    def _resized(self) -> None:
        self.axes.set_position(_room(self.figure))
        self._under = None

    def _draw(self) -> None:
        canvas: Any = self.figure.canvas
        if self._under is None:
            canvas.draw()  # tells `_drawn_anew`, which comes back here
            return
        canvas.restore_region(self._under)
        for artist in self._drawn:
            artist.remove()
        self._drawn = self._artists()
        for artist in self._drawn:
            self.figure.draw_artist(artist)
        canvas.blit(self.figure.bbox)

    def _artists(self) -> list[Any]:
        dpi = self.figure.dpi
        width, height = self.figure.get_size_inches()
        (left, _), (right, _) = self.axes.transData.transform(((0.0, 0.0), (1.0, 0.0)))
        size_pt = ((_PANEL_IN - 2.0 * _PAD_IN) * POINTS_PER_INCH, (height - 2.0 * _PAD_IN) * POINTS_PER_INCH)
        self.items = (
            drawn_items(self.bench, float(right - left) / dpi * POINTS_PER_INCH, self.axes.get_xlim()),
            panel_items(self.bench, size_pt),
        )
        corner = Affine2D().scale(dpi / POINTS_PER_INCH).translate((width - _PANEL_IN + _PAD_IN) * dpi, _PAD_IN * dpi)
        return [*self._added(self.items[0], self.axes.transData, self.axes.bbox), *self._added(self.items[1], corner)]

    def _added(self, items: Iterable[Item], transform: Transform, box: Any = None) -> list[Any]:
        labels = [item for item in items if isinstance(item, Label)]
        found = artists_of(tuple(item for item in items if not isinstance(item, Label)), transform)
        found.append(lettering_of(labels, transform, Affine2D().scale(self.figure.dpi / POINTS_PER_INCH)))
        for artist in found:
            artist.set_animated(True)
            artist.set_clip_box(box)
            self.figure.add_artist(artist)
        return found


class _RoundTicks(AutoLocator):
    """Ticks at round numbers of a unit, along an axis in mm."""

    def __init__(self, unit_mm: float) -> None:
        super().__init__()
        self._unit_mm = unit_mm

    def tick_values(self, vmin: float, vmax: float) -> Any:
        return np.multiply(self._unit_mm, super().tick_values(vmin / self._unit_mm, vmax / self._unit_mm))


def _axes_of(figure: Figure, bench: Bench) -> Axes:
    """Axes in the file's units below and left, in the others above and right, wide enough for all there is."""
    axes, units = figure.add_axes(_room(figure)), bench.start.layout.units
    other: Units = "in" if units == "mm" else "mm"
    left, bottom, right, top = limits_of(bench.start)
    axes.set_aspect("equal", adjustable="datalim")
    axes.margins(0.0)
    axes.update_datalim([(left, bottom), (right, top)])
    axes.autoscale_view()
    axes.set_xlabel(units)
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(_RoundTicks(MM_PER_UNIT[units]))
        axis.set_major_formatter(lambda mm, _: f"{mm / MM_PER_UNIT[units]:g}".replace("-", "\N{MINUS SIGN}"))
    told: Any = (lambda mm: mm / MM_PER_UNIT[other], lambda value: value * MM_PER_UNIT[other])
    axes.secondary_xaxis("top", functions=told).set_xlabel(other)
    axes.secondary_yaxis("right", functions=told)
    axes.grid(True, color=_GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    return axes


def _room(figure: Figure) -> tuple[float, float, float, float]:
    width, height = figure.get_size_inches()
    return 0.65 / width, 0.55 / height, max(width - _PANEL_IN - 1.3, 1.0) / width, max(height - 1.1, 1.0) / height


# The window on the screen.


class NoWindow(Exception):
    """There is no screen, or nothing that could open a window on it."""


def open_window(bench: Bench) -> None:
    """Show a bench in a window until it is closed. Raises NoWindow."""
    import matplotlib
    from matplotlib import pyplot

    # All keys are the bench's own.
    settings: dict[str, Any] = {key: [] for key in matplotlib.rcParams if key.startswith("keymap.")}
    with own_settings(settings | {"toolbar": "None"}):
        figure = pyplot.figure(figsize=SIZE_IN)
        if pyplot.get_backend().lower() == "agg":
            raise NoWindow
        if figure.canvas.manager is not None:
            figure.canvas.manager.set_window_title(f"beltplan drag {os.path.basename(bench.path)}")
        window = Window(figure, bench)
        pyplot.show(block=True)
        del window  # it is held till here: the figure knows it by weak references only
