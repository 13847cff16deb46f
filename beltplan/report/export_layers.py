"""The layers of an export: what lies on each, in words, and the colour that each has in every kind of file."""

from __future__ import annotations

from dataclasses import dataclass

from beltplan.belts.drawing import LAYERS, Layer

NAMES, NOTES = "names", "notes"
"""Layers that hold words alone, which a machine must not cut."""


@dataclass(frozen=True)
class DrawnLayer:
    """One layer. colour_number: of the 255 colours that DXF counts. colour: red, green and blue for a screen."""

    name: str
    meaning: str
    colour_number: int
    colour: str


_LOOKS: dict[Layer, tuple[str, int, str]] = {
    "belt_line": ("the line whose length the belt's number counts", 1, "#c00000"),
    "belt_edges": ("the two faces of the belt", 8, "#808080"),
    "pulleys": ("rims: over the rib tips, or the smooth face", 5, "#0000ff"),
    "centres": ("shaft centres, and the pivot of an arm", 92, "#008000"),
    "adjuster": ("travel of the adjuster, its pulley at both stops", 6, "#a000a0"),
    "obstacles": ("what the belt must not touch", 30, "#b05000"),
}

DRAWN_LAYERS: tuple[DrawnLayer, ...] = (
    *(DrawnLayer(layer, *_LOOKS[layer]) for layer in LAYERS),
    DrawnLayer(NAMES, "words, not to be cut", 7, "#000000"),
    DrawnLayer(NOTES, "words, not to be cut", 134, "#007070"),
)
"""Each has a colour of its own: some machines tell by it, not by the name, what is to be cut."""
