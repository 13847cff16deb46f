"""A picture read back in the millimetres of its layout."""

from dataclasses import replace

from beltplan.picture.scene import Scene, seen, seen_box


def in_mm(scene: Scene) -> Scene:
    """The scene with everything where it stands in the layout; letters and pens keep their points."""
    back = scene.view.back
    return replace(scene, frame=seen_box(scene.frame, back), items=tuple(seen(scene.items, back)))
