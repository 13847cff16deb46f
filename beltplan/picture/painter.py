"""Paints a scene into a PNG, SVG or PDF file. The one place with matplotlib."""

from __future__ import annotations

import os
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from functools import lru_cache
from io import BytesIO
from types import MappingProxyType
from typing import Any
from xml.sax.saxutils import escape

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PathCollection
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.image import BboxImage
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.textpath import text_to_path
from matplotlib.transforms import Affine2D, Bbox, Transform, TransformedBbox
from numpy.typing import NDArray
from PIL import Image

from beltplan.drive.belt import MM_PER_INCH
from beltplan.files import write_whole
from beltplan.geometry.vectors import Floats, cross
from beltplan.picture import pens
from beltplan.picture.paper import MM_PT, PAPERS, POINTS_PER_INCH
from beltplan.picture.scene import Align, Chart, Item, Label, Point, Raster, Scene, Shape, Stroke, font_file

Pixels = NDArray[np.uint8]
ENDINGS = ("png", "svg", "pdf")

_DPI = 144
_PAGE_BOX = re.compile(rb"/Type\s*/Page\s.*?/MediaBox\s*\[([^\]]*)\]", re.DOTALL)
_PAGE_ERROR_PT = 0.01
_PALETTE = 256
_HATCH = "////"
_SETTINGS: Any = {
    "svg.hashsalt": "beltplan",
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
    "hatch.linewidth": 0.5,
    "lines.scale_dashes": False,
    "path.simplify": False,
    "text.hinting": "no_hinting",
}
"""What differs from matplotlib's own defaults."""
_CHART_SETTINGS: Any = {
    "axes.edgecolor": pens.INK,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.labelcolor": pens.SOFT_INK,
    "axes.labelsize": 8.5,
    "font.size": 8.5,
    "text.parse_math": False,
    "text.color": pens.INK,
    "xtick.labelcolor": pens.SOFT_INK,
    "xtick.labelsize": 8.5,
    "ytick.labelcolor": pens.SOFT_INK,
    "ytick.labelsize": 8.5,
}
_METADATA: dict[str, dict[str, Any]] = {
    "svg": {"Date": None, "Creator": "beltplan"},
    "pdf": {"CreationDate": None, "Creator": "beltplan", "Producer": None},
}
"""No dates and no versions, so that the same layout gives the same file."""


def paint(scene: Scene, path: str) -> None:
    """Write a scene to a file, whole or not at all; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    write_whole(path, picture_bytes(scene, _ending_of(path)))


def _ending_of(path: str) -> str:
    ending = os.path.splitext(path)[1][1:].lower()
    if ending not in ENDINGS:
        raise ValueError(f"a picture file ends in {', '.join('.' + each for each in ENDINGS)}, got {path}")
    return ending


@contextmanager
def own_settings(more: Mapping[str, Any] = MappingProxyType({})) -> Iterator[None]:
    """matplotlib's own defaults but for _SETTINGS and `more`, whatever the user's files and notebooks have set.

    Letters that the font lacks come out as boxes without a warning; the name in the layout stays as it is.
    """
    defaults = {key: value for key, value in matplotlib.rcParamsDefault.items() if key != "backend"}
    with warnings.catch_warnings(), matplotlib.rc_context():
        warnings.simplefilter("ignore", matplotlib.MatplotlibDeprecationWarning)
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        matplotlib.rcParams.update(defaults | _SETTINGS | dict(more))
        yield


def paint_chart(made: Callable[[], Figure], title: str, path: str) -> None:
    ending = _ending_of(path)
    with own_settings():
        content = _file_of(made(), ending, _DPI, {"Title": title})
    write_whole(path, content)


def picture_bytes(scene: Scene, ending: str, dpi: float = _DPI) -> bytes:
    """The file's content. A PDF is the smallest paper of its kind that holds the picture at its own size."""
    held, about = (_held_by(scene), {"Subject": scene.about}) if ending == "pdf" else (scene, {})
    with own_settings():
        content = _file_of(figure_of(held), ending, dpi, {"Title": scene.title} | about)
    return _described(content, scene.about) if ending == "svg" else content


def _held_by(scene: Scene) -> Scene:
    """In the middle of the smallest A paper that holds it, upright where it can be; as it is where none does."""
    width, height = scene.size_pt
    left, bottom, right, top = scene.frame
    for size_mm in (size for paper in PAPERS if paper.name.startswith("A") for size in paper.sizes_mm()):
        across, up = 0.5 * (size_mm[0] * MM_PT - width), 0.5 * (size_mm[1] * MM_PT - height)
        if min(across, up) >= 0.0:
            return replace(scene, frame=(left - across, bottom - up, right + across, top + up))
    return scene


def _file_of(figure: Figure, ending: str, dpi: float, words: dict[str, str]) -> bytes:
    """A figure as a file's content; a PNG with a palette, a third as large. words: title and subject of the others."""
    target = BytesIO()
    if ending == "png":
        _with_palette(pixels_of(figure, dpi)).save(target, "png", dpi=(dpi, dpi))
    else:
        figure.savefig(target, format=ending, dpi=dpi, metadata=_METADATA[ending] | words, facecolor="white")
    return target.getvalue()


def _with_palette(pixels: Pixels) -> Image.Image:
    """Of each colour of the palette the commonest that it stands for, so that areas keep theirs."""
    picture = Image.fromarray(pixels).quantize(_PALETTE, Image.Quantize.MAXCOVERAGE)
    some = np.dstack((np.asarray(picture), pixels))[::3, ::3].reshape(-1, 4)
    stands, counts = np.unique(some.view(np.uint32), return_counts=True)
    entries = stands[np.argsort(counts)].view(np.uint8).reshape(-1, 4)
    palette = np.reshape(picture.getpalette() or [], (-1, 3))
    palette[entries[:, 0]] = entries[:, 1:]  # the commonest last
    picture.putpalette(palette.ravel().tolist())
    return picture


def pixels_of(figure: Figure, dpi: float) -> Pixels:
    """The figure in pixels, (rows, columns, 3)."""
    figure.set_dpi(dpi)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]
    every: Pixels = np.asarray(canvas.buffer_rgba(), dtype=np.uint8)  # type: ignore[no-untyped-call]
    return np.ascontiguousarray(every[:, :, :3])


def _described(svg: bytes, about: str) -> bytes:
    title = b"</title>"
    return svg.replace(title, title + f"\n <desc>{escape(about)}</desc>".encode(), 1) if about else svg


def document_bytes(scenes: Iterable[Scene], title: str) -> bytes:
    """The content of a PDF with one page a scene, which asks to be printed at its own size and on one side.

    Source of these wishes: ISO 32000-1:2008, 12.2, table 150.
    """
    from matplotlib.backends.backend_pdf import Name, PdfPages  # slow to load, and no other picture needs it

    name: Any = Name
    target, sizes = BytesIO(), []
    with own_settings(), PdfPages(target, metadata=_METADATA["pdf"] | {"Title": title}) as pages:
        with suppress(AttributeError):  # another matplotlib may keep its catalogue elsewhere
            file: Any = pages._ensure_file()
            wishes = {"PrintScaling": name("None"), "Duplex": name("Simplex")}
            root = {"Type": name("Catalog"), "Pages": file.pagesObject, "ViewerPreferences": wishes}
            file.writeObject(file.rootObject, root)
        for scene in scenes:
            figure_of(scene).savefig(pages, format="pdf", facecolor="none")
            sizes.append(scene.size_pt)
    return of_sizes(target.getvalue(), sizes)


def of_sizes(pdf: bytes, sizes_pt: list[Point]) -> bytes:
    """A PDF whose pages, read back from its bytes, are of these sizes in their order, to a hundredth of a point.

    Raises WrongPaper otherwise: a print of another size would not be at full scale.
    """
    found = [tuple(map(float, box.split())) for box in _PAGE_BOX.findall(pdf)]
    wanted = [(0.0, 0.0, *size) for size in sizes_pt]
    if len(found) == len(wanted) and np.allclose(found, wanted, rtol=0.0, atol=_PAGE_ERROR_PT):
        return pdf
    raise WrongPaper(
        f"the pages came out as {_in_mm(box[2:] for box in found)}, wanted {_in_mm(sizes_pt)}; nothing was written"
    )


def _in_mm(sizes_pt: Iterable[tuple[float, ...]]) -> str:
    sides_mm = ([f"{side / POINTS_PER_INCH * MM_PER_INCH:.1f}" for side in size] for size in sizes_pt)
    sizes = dict.fromkeys(" x ".join(sides) for sides in sides_mm)
    return f"{', '.join(sizes)} mm" if sizes else "none"


class WrongPaper(ValueError):
    """A print whose pages are not of the size that was asked for."""


def figure_of(scene: Scene) -> Figure:
    width, height = scene.size_pt
    figure = Figure(figsize=(width / POINTS_PER_INCH, height / POINTS_PER_INCH), facecolor="white")
    FigureCanvasAgg(figure)
    place = Affine2D().translate(-scene.frame[0], -scene.frame[1]).scale(1.0 / POINTS_PER_INCH)
    artists = artists_of(scene.items, place + figure.dpi_scale_trans)
    for order, artist in enumerate(artists):
        if isinstance(artist, Chart):
            _add_chart(figure, artist, scene, order)
        else:
            artist.set_zorder(order)
            figure.add_artist(artist)
    return figure


def _add_chart(figure: Figure, chart: Chart, scene: Scene, order: int) -> None:
    (width, height), (x0, y0, x1, y1) = scene.size_pt, chart.box
    left, bottom = (x0 - scene.frame[0]) / width, (y0 - scene.frame[1]) / height
    with matplotlib.rc_context(_CHART_SETTINGS):
        axes = figure.add_axes((left, bottom, (x1 - x0) / width, (y1 - y0) / height), zorder=order)
        axes.set_gid(chart.name)
        chart.draw(axes)
        low, high = axes.get_xlim()
        axes.set_xticks([tick for tick in axes.get_xticks() if low <= tick <= high])
        for text in axes.findobj(Text):
            text.set_fontproperties(font_of(text.get_fontweight() == "bold", text.get_fontsize()))


def artists_of(items: tuple[Item, ...], transform: Transform) -> list[Any]:
    """What is drawn, back to front, charts as they are; strokes and shapes that follow each other go together."""
    artists: list[Any] = []
    waiting: list[Stroke | Shape] = []
    for item in items:
        if isinstance(item, Stroke) or (isinstance(item, Shape) and not item.hatched):
            waiting.append(item)
        elif not isinstance(item, Label):
            artists.append(_together(waiting, transform))
            if isinstance(item, Shape):
                artists.append(_together([item], transform, _HATCH))
            else:
                artists.append(_flat(item, transform) if isinstance(item, Raster) else item)
            waiting = []
    # Text last: nothing covers it.
    return [*artists, _together(waiting, transform), *(_text(i, transform) for i in items if isinstance(i, Label))]


def lettering_of(labels: Sequence[Label], transform: Transform, scale: Transform) -> PathCollection:
    """Outlines of their letters, many times quicker to draw anew than texts are. scale: from points to the screen."""
    return PathCollection(
        [_lettering(label.text, label.size_pt, label.bold, label.align) for label in labels],
        facecolors=[label.colour for label in labels],
        linewidths=0.0,
        offsets=[label.at for label in labels],
        offset_transform=transform,
        transform=scale,
    )


@lru_cache(maxsize=2048)
def _lettering(text: str, size_pt: float, bold: bool, align: Align) -> Path:
    corners, codes, end = [np.zeros((0, 2))], [np.zeros(0, Path.code_type)], 0.0
    for letter in text:
        glyph, advance = _glyph(letter, bold)
        corners.append(np.add(glyph.vertices, (end, 0.0)))
        codes.append(np.asarray(glyph.codes))
        end += advance
    start = {"left": 0.0, "center": 0.5, "right": 1.0}[align] * end
    return Path(size_pt * (np.concatenate(corners) - (start, 0.0)), np.concatenate(codes))


@lru_cache(maxsize=512)
def _glyph(letter: str, bold: bool) -> tuple[Path, float]:
    """The outline of one letter of 1 pt, and how far on the next one stands."""
    size, font = 100.0, font_of(bold, 100.0)
    width, _, _ = text_to_path.get_text_width_height_descent(letter, font, ismath=False)
    corners, codes = text_to_path.get_text_path(font, letter)
    return Path(np.reshape(corners, (-1, 2)) / size, np.asarray(codes, Path.code_type)), width / size


def _together(items: Sequence[Stroke | Shape], transform: Transform, hatch: str = "") -> PathCollection:
    pens = [item.pen for item in items]
    return PathCollection(
        [_path(item) for item in items],
        facecolors=[item.fill if isinstance(item, Shape) and item.fill else "none" for item in items],
        edgecolors=[pen.colour if pen else "none" for pen in pens],
        linewidths=[pen.width_pt if pen else 0.0 for pen in pens],
        linestyles=[(pen.phase_pt, pen.dash) if pen and pen.dash else "solid" for pen in pens],
        capstyle="butt",
        joinstyle="miter",
        hatch=hatch or None,
        transform=transform,
    )


def _flat(raster: Raster, transform: Transform) -> BboxImage:
    left, bottom, right, top = raster.box
    box = TransformedBbox(Bbox.from_extents(left, bottom, right, top), transform)
    image = BboxImage(box, interpolation="nearest", origin="upper")
    colours = np.array([*(to_rgba(colour) for colour in raster.colours), (0.0, 0.0, 0.0, 0.0)])
    # An image is stored from its top row down.
    image.set_data(np.uint8(np.round(255.0 * colours[np.maximum(raster.cells, -1)][::-1])))
    return image


def _path(item: Stroke | Shape) -> Path:
    if isinstance(item, Stroke):
        return Path(item.points)
    # A hole is filled unless it runs the other way round than its outline.
    outline, *holes = item.rings
    rings = [outline, *(hole[::-1] if _turns_left(hole) == _turns_left(outline) else hole for hole in holes)]
    return Path.make_compound_path(*(Path(np.concatenate((ring, ring[:1])), closed=True) for ring in rings))


def _turns_left(ring: Floats) -> bool:
    return bool(cross(ring, np.roll(ring, -1, axis=0)).sum() > 0.0)


def _text(label: Label, transform: Transform) -> Text:
    text = Text(
        *label.at,
        label.text,
        color=label.colour,
        fontproperties=font_of(label.bold, label.size_pt),
        horizontalalignment=label.align,
        verticalalignment="baseline",
        parse_math=False,
    )
    text.set_transform(transform)
    return text


@lru_cache(maxsize=64)
def font_of(bold: bool, size_pt: float) -> FontProperties:
    return FontProperties(fname=font_file(bold), size=size_pt, weight="bold" if bold else "normal")
