"""What commands draw, read as scenes and not painted: painting takes most of a picture's time.

That scenes are painted as they are is tried where the painter is; `crowding` reads their words.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cache

import numpy as np
import pytest

from beltplan.drawing import picture as print_
from beltplan.picture import painter
from beltplan.picture.scene import Scene

_paint = painter.picture_bytes


@contextmanager
def unpainted() -> Iterator[list[Scene]]:
    """Every scene that is painted meanwhile, also as a sheet of a print; files hold an empty picture of their kind."""
    scenes: list[Scene] = []

    def taken(scene: Scene, ending: str, *_: object) -> bytes:
        scenes.append(scene)
        return _empty(ending)

    def printed(sheets: Iterable[Scene], title: str) -> bytes:
        scenes.extend(sheets)
        return _empty("pdf")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(painter, "picture_bytes", taken)
        patch.setattr(print_, "document_bytes", printed)
        yield scenes


@cache
def _empty(ending: str) -> bytes:
    return _paint(Scene((0.0, 0.0, 9.0, 9.0)), ending)


def can_be_painted(scene: Scene) -> bool:
    """Whether it has words, and all that it shows has a place."""
    return bool(scene.labels) and all(np.isfinite(item.box).all() for item in scene.items)
