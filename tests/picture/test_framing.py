"""What lies far from the drive neither shrinks it nor is lost: it is told in words at the edge toward it."""

from dataclasses import replace

import pytest
import shapely

from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Circle, Layout, Polygon
from beltplan.drive.mounts import Mark
from beltplan.picture.routing import routing_scene
from beltplan.picture.scene import Scene, Shape
from beltplan.picture.unlaid import unlaid_scene
from tests.for_each import for_each
from tests.picture.crowding import audit
from tests.picture.in_mm import in_mm
from tests.place.drives import shipped

RAIL = Polygon("rail", ((-300.0, -260.0), (4150.0, -260.0), (4150.0, -230.0), (-300.0, -230.0)))


def drawn(layout: Layout) -> Scene:
    return routing_scene(plan_of(layout))


def told(scene: Scene) -> str:
    return " ".join(label.text for label in scene.labels)


@for_each(
    ("mm", (-7620.0, 0.0), "\N{LEFTWARDS ARROW} far is outside of the picture, 7620 mm left of crank"),
    ("in", (7620.0, 300.0), "\N{RIGHTWARDS ARROW} far is outside of the picture, 300.00 in right of crank"),
    ("mm", (100.0, -2000.0), "\N{DOWNWARDS ARROW} far is outside of the picture, 2000 mm below crank"),
)
@pytest.mark.parametrize("is_mark", [False, True])
def test_what_is_far_is_told_at_the_edge_and_does_not_shrink_the_drawing(
    is_mark: bool, units: str, at_mm: tuple[float, float], words: str
) -> None:
    """The crankshaft stands at 0, 0; 7,620 mm are 300 in."""
    layout = replace(shipped("railcar"), units="in" if units == "in" else "mm")
    more = (
        replace(layout, marks=(Mark("far", at_mm),))
        if is_mark
        else replace(layout, obstacles=(*layout.obstacles, Circle("far", at_mm, 0.1)))
    )
    scene = drawn(more)
    assert scene.view.pt_per_mm == drawn(layout).view.pt_per_mm
    assert words in told(scene) and not scene.named("obstacle far") and audit(scene) == []


def test_what_reaches_far_is_drawn_as_far_as_the_picture_goes() -> None:
    """What is drawn of the rail is a part of it, by shapely, from its near end on."""
    layout = replace(shipped("railcar"), obstacles=(RAIL,))
    scene = drawn(layout)
    (shape,) = (item for item in in_mm(scene).named("obstacle rail") if isinstance(item, Shape))
    part, whole = shapely.Polygon(shape.rings[0]), shapely.Polygon(RAIL.corners_mm)
    assert whole.buffer(1e-6).covers(part) and part.bounds[0] == pytest.approx(-300.0) and part.bounds[2] < 1000.0
    assert f"rail goes on beyond {part.bounds[2]:.0f} mm right of crank" in told(scene)


def test_what_is_near_is_drawn_as_it_is() -> None:
    near = Circle("near", (-500.0, 200.0), 60.0)
    scene = drawn(replace(shipped("railcar"), obstacles=(near,)))
    assert scene.named("obstacle near") and "outside" not in told(scene)


def test_a_belt_that_cannot_be_laid_is_framed_alike() -> None:
    layout = replace(shipped("railcar"), obstacles=(Circle("far", (-7620.0, 0.0), 0.1),))
    scene = unlaid_scene(layout, (), "")
    assert "far is outside of the picture, 7620 mm left of crank" in told(scene)
    assert scene.view.pt_per_mm == unlaid_scene(replace(layout, obstacles=()), (), "").view.pt_per_mm
    assert audit(scene) == []
