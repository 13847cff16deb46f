"""Writes label blocks one after the other, each clear of all that was drawn and written before."""

from __future__ import annotations

from beltplan.plots.blocks import Block, block_items
from beltplan.plots.palette import LEADER
from beltplan.plots.placing import Anchor, Ground, clear_pieces, place
from beltplan.plots.scene import Align, Box, Item, Stroke


class Writer:
    """Places blocks and keeps what they cover."""

    def __init__(self, ground: Ground, unit_pt: float) -> None:
        self.ground = ground
        self.unit_pt = unit_pt
        self.items: list[Item] = []

    def beside(self, block: Block, anchors: tuple[Anchor, ...], near: bool = False) -> None:
        """Write a block beside one of its anchors. near: only where it can stand close by, else not at all."""
        pt = 1.0 / self.unit_pt
        found = place(self.ground, anchors, block.width_pt * pt, block.height_pt * pt, pt)
        if found.leader is not None and near:
            return
        if found.leader is not None:
            self.items += [Stroke(piece, LEADER, "leader") for piece in clear_pieces(self.ground, found.leader, pt)]
            self.ground = self.ground.with_leader(found.leader)
        self.put(block, found.box, _align(found.box, anchors[0].at[0] if len(anchors) == 1 else None))

    def put(self, block: Block, box: Box, align: Align) -> None:
        """Write a block in a box of its size."""
        self.items += block_items(block, box, align, self.unit_pt)
        self.ground = self.ground.with_box(box)


def _align(box: Box, x: float | None) -> Align:
    # Text stands flush toward what it belongs to.
    if x is None or box[0] < x < box[2]:
        return "center"
    return "left" if x <= box[0] else "right"
