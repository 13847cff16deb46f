"""The template as a file: opened with a reader of its own, measured from what is printed alone."""

import io
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pdfplumber
import pytest

from beltplan.checks.limits import Finding
from beltplan.drawing.marks import page_words
from beltplan.drawing.paper import MARGIN_MM, OVERLAP_MM
from beltplan.drawing.picture import write_template
from beltplan.drive.pulleys import Pulley, Slide
from beltplan.drive.route import Route, route_of
from beltplan.files import write_whole
from beltplan.picture.painter import document_bytes
from beltplan.picture.paper import PAPERS, Paper
from tests.drawing.template_reader import SOURCE, Page, heading, laid_together, pages_of, pdf_of, scenes_of, template
from tests.for_each import for_each
from tests.picture.drives import every_route, layout_of

NEAR_MM = 0.05
"""What the drawn distance of two centres may be off."""
PAPER_NAMES = [paper.name for paper in PAPERS]


def small() -> Route:
    """One sheet of any paper holds it, so that reading it is quick."""
    pulleys = [
        Pulley("crank", "crankshaft", 70.0, at_mm=(0.0, 0.0), drives=True),
        Pulley("dynamo", "alternator", 40.0, adjuster=Slide((55.0, 70.0), (60.0, 80.0))),
    ]
    return route_of(layout_of("Small (invented)", "AV13x400", pulleys, ["crank", "dynamo"]))


@lru_cache(maxsize=32)
def route(name: str) -> Route:
    return every_route()[name]()


@lru_cache(maxsize=32)
def read(name: str, paper: str) -> list[Page]:
    return pages_of(pdf_of(route(name), paper))


@lru_cache(maxsize=1)
def one_of_every_paper() -> dict[str, Page]:
    """A sheet of each paper, all in one file: its letter shapes take longer than its pages."""
    scenes = [scene for name in PAPER_NAMES for scene in scenes_of(small(), name)]
    return dict(zip(PAPER_NAMES, pages_of(document_bytes(scenes, "Every paper")), strict=True))


@for_each(*PAPERS, ids=PAPER_NAMES)
def test_pages_have_the_size_of_the_paper(paper: Paper) -> None:
    size_mm = one_of_every_paper()[paper.name].size_mm
    assert sorted(size_mm) == pytest.approx([paper.width_mm, paper.height_mm], abs=0.01)


# The places are those in the file layouts/railcar.yaml.
RAILCAR = {"crank": (0, 0), "compressor": (-238, 232), "crane_pump": (-117, 409), "water_pump": (-12, 288),
           "guide": (174, 112)}  # fmt: skip


def test_distance_of_two_centres_on_one_page() -> None:
    (page,) = read("railcar", "A0")
    for first, second in combinations(RAILCAR, 2):
        drawn = page.cross_at(first) - page.cross_at(second)
        assert drawn == pytest.approx(np.subtract(RAILCAR[first], RAILCAR[second]), abs=NEAR_MM)


def test_distance_of_two_centres_across_two_pages_by_each_mark_that_they_share() -> None:
    pages = read("railcar", "A4")
    on = {name: next(page for page in pages if name in [word.text for word in page.names]) for name in RAILCAR}
    compared = 0
    for first, second in combinations(RAILCAR, 2):
        one, two = on[first], on[second]
        for letter in "ab" if any(other == two.place for _, other in one.joins) else "":
            shift = one.joins[letter, two.place] - two.joins[letter, one.place]
            drawn = one.cross_at(first) - two.cross_at(second) - shift
            assert drawn == pytest.approx(np.subtract(RAILCAR[first], RAILCAR[second]), abs=NEAR_MM)
            compared += 1
    assert compared >= 2


@for_each(("railcar", "A4"), ("crowded", "letter"))
def test_every_centre_is_in_its_place_once_the_sheets_are_laid_together(name: str, paper: str) -> None:
    """Centres from the layout itself: fixed pulleys on and off the belt, and the arm's pivot."""
    pages = read(name, paper)
    corners = laid_together(pages)
    crosses = np.concatenate([corners[page.place] + page.crosses(12.0) for page in pages])
    first = route(name).layout.driver.name
    home = next(page for page in pages if first in [word.text for word in page.names])
    origin = corners[home.place] + home.cross_at(first) - np.array(route(name).layout.driver.at_mm)
    wanted = [np.array(p.at_mm) for p in route(name).layout.pulleys.values() if p.at_mm is not None]
    for at in wanted:
        assert np.hypot(*(crosses - origin - at).T).min() < NEAR_MM
    # And no cross stands where there is no centre: at most the moving pulley and its pivot are left.
    off = [cross for cross in crosses if min(np.hypot(*(cross - origin - at)) for at in wanted) > NEAR_MM]
    assert len(np.unique(np.round(off, 2).reshape(-1, 2), axis=0)) <= 2


def test_sheets_turned_or_shifted_would_be_noticed() -> None:
    pages = read("railcar", "A4")
    moved = pages[0].joins
    assert len(moved) >= 4
    assert all(np.hypot(*(moved["a", other] - moved["b", other])) >= 40.0 for _, other in moved)


def test_check_scales_both_ways_on_every_page_in_the_units_of_the_file() -> None:
    """100 mm, or 4 in, which are 101.6 mm: the inch is 25.4 mm by definition."""
    of_mm, of_inches = (*one_of_every_paper().values(), *read("railcar", "A4")), read("workboat", "A2")
    for page, length, words in (*((p, 100.0, "100 mm") for p in of_mm), *((p, 101.6, "4 in") for p in of_inches)):
        same = [line for line in page.lines if abs(line.length - length) < 0.005]
        assert {line.is_level for line in same} == {True, False} and page.text.count(words) >= 2
        for line in same:
            ends = [tick for tick in page.lines if tick.length < 3.1 and tick.is_level is not line.is_level]
            for end in (line.start, line.end):
                assert min(np.hypot(*(tick.start - end)) for tick in ends) < 0.001


@pytest.mark.parametrize("name", ["railcar", "workboat"])
def test_ink_of_the_belt_line_is_the_length_of_the_path(name: str) -> None:
    """The path of the judged belt is its length, so what is drawn must sum to it."""
    (page,) = read(name, "A0")
    foot = next(word.at[1] for word in page.words if word.text == "PUNCH") + 3.0  # lower is the strip with the legend
    ink = [np.hypot(*np.diff(p, axis=0).T).sum() for width, p in page.chains if width == 0.9 and p[:, 1].min() > foot]
    assert sum(ink) == pytest.approx(route(name).length_mm, abs=NEAR_MM)


def test_every_page_says_what_it_is_and_the_first_all_that_is_to_be_known() -> None:
    name, paper = "camper with idler", "A3"
    pages = pages_of(pdf_of(route(name), paper, 2 * (Finding("wrap", "problem", "crank", "too little", "test"),)))
    rows, columns = (max(page.place[axis] for page in pages) for axis in (0, 1))
    assert len(pages) > 1
    everywhere = (
        route(name).layout.title.split(",")[0],
        route(name).layout.variant or "",
        "two.yaml of 2026-03-09",
        "DO NOT PUNCH YET: 2 problems; check the scale too",
        "this face toward you, this way up",
    )
    first = (
        'Print at 100 % (no "fit to page"); measure the check scales first, both ways.',
        "Planning aid from the measurements given, never an approval",
        "engine off, battery disconnected, guards back on",
        "Check found 2 problems: put them right before you cut metal.",
        "Seen from the front; x right, y up",
    )
    for number, page in enumerate(pages, start=1):
        row, column = page.place
        place = f"sheet {row}-{column} ({number} of {len(pages)}), row {row} of {rows}, column {column} of {columns}"
        assert all(text in page.text for text in (*everywhere, place))
        assert all((text in page.text) is (number == 1) for text in first)


def test_what_stops_is_the_loudest_of_its_sheet() -> None:
    for scene in (*scenes_of(small()), *scenes_of(route("railcar"))):
        (loud,) = [label for label in scene.labels if label.name == "loud"]
        assert loud.bold and loud.text == "DO NOT PUNCH YET: check the scale first"
        assert all(label.size_pt < loud.size_pt for label in scene.labels if label is not loud)


def test_places_in_doubt_stop_on_every_sheet_that_says_what_to_measure_again() -> None:
    """On the first in full; on the others so much of it as a line holds. Beside problems, both are told."""
    again, given = "crank - alternator (line 19) of measured.yaml", route("railcar")
    doubted = replace(given, layout=replace(given.layout, in_doubt=f"{again}, or crank - guide (line 20); {'x' * 99}"))
    for found, told in (((), ""), ((Finding("wrap", "problem", "crank", "too little", "test"),), "1 problem; ")):
        for number, scene in enumerate(scenes_of(doubted, "A4", None, found)):
            (loud,) = [label.text for label in scene.labels if label.name == "loud"]
            assert loud == f"DO NOT PUNCH YET: {told}places in doubt"
            text = " ".join(label.text for label in scene.labels if label.name == ("control" if number else "doubt"))
            assert text.startswith(f"Measure again {again}") and ("x" * 99 in text) is (number == 0)
            assert min(label.at[1] for label in scene.labels) > scene.frame[1] + MARGIN_MM * 72.0 / 25.4


def test_nothing_is_printed_near_the_edge_and_nothing_filled_but_dots() -> None:
    for page in (*one_of_every_paper().values(), *read("railcar", "A4")):
        points = np.concatenate([chain for _, chain in page.chains])
        low, high = points.min(axis=0), points.max(axis=0)
        boxes = np.array(page.letters)
        low, high = np.minimum(low, boxes[:, :2].min(axis=0)), np.maximum(high, boxes[:, 2:].max(axis=0))
        # Common practice, no source: most printers reach to 5 mm from the edge.
        assert (low > 5.0).all() and (high < np.array(page.size_mm) - 5.0).all()
        foot = next(word.at[1] for word in page.words if word.text == "PUNCH")  # lower is the arrow that points up
        assert all(max(box[2] - box[0], box[3] - box[1]) < 1.0 for box in page.fills if box[1] > foot)


def test_lines_of_two_pages_are_the_same_over_the_overlap() -> None:
    """Points of one page's curves inside the overlap lie on those of the other."""
    pages = {page.place: page for page in read("railcar", "A4")}
    corners = laid_together(list(pages.values()))
    compared = 0
    for (row, column), page in pages.items():
        other = pages.get((row, column + 1))
        if other is None:
            continue
        edge = corners[row, column + 1][0] + MARGIN_MM
        mine, theirs = (
            np.concatenate(
                [corners[each.place] + c for width, c in each.chains if width == 0.9 and len(c) > 5]
                or [np.empty((0, 2))]
            )
            for each in (page, other)
        )
        for point in mine[(mine[:, 0] > edge + 0.5) & (mine[:, 0] < edge + OVERLAP_MM - 0.5)]:
            assert np.hypot(*(theirs - point).T).min() < 1e-3
            compared += 1
    assert compared > 20


def test_pages_are_those_of_the_template_and_no_mark_joins_one_left_out() -> None:
    made = template(route("orchard_sprayer"), "letter")
    pages = read("orchard_sprayer", "letter")
    places = [page.place for page in pages]
    assert made.left_out and [f"{r}-{c}" for r, c in places] == [page_words(page) for page in made.pages]
    assert all(other in places for page in pages for _, other in page.joins)


def test_same_source_same_file_and_another_source_another(tmp_path: Path) -> None:
    made, told = template(route("two pulleys"), "A2"), heading(route("two pulleys"))
    files = [tmp_path / f"{i}.pdf" for i in range(2)]
    for file in files:
        write_template(made, told, str(file))
    assert files[0].read_bytes() == files[1].read_bytes()
    later = replace(told, source=f"{SOURCE} and later")
    write_template(made, later, str(files[1]))
    assert files[0].read_bytes() != files[1].read_bytes()


def test_file_asks_to_be_printed_at_its_own_size() -> None:
    """ISO 32000-1:2008, table 150: PrintScaling None is no scaling; Duplex Simplex prints on one side."""
    with pdfplumber.open(io.BytesIO(pdf_of(small(), "A4"))) as pdf:
        wishes = {key: str(value) for key, value in pdf.doc.catalog["ViewerPreferences"].items()}
        assert pdf.metadata == {"Creator": "beltplan", "Title": "Small (invented)"}
    assert wishes == {"PrintScaling": "/'None'", "Duplex": "/'Simplex'"}


def test_a_folder_that_is_not_there_leaves_nothing(tmp_path: Path) -> None:
    made, told = template(small(), "A4"), heading(small())
    with pytest.raises(OSError):
        write_template(made, told, str(tmp_path / "gone" / "t.pdf"))
    assert list(tmp_path.iterdir()) == []
    write_whole(str(tmp_path / "t.pdf"), b"old")
    write_template(made, told, str(tmp_path / "t.pdf"))
    assert [path.name for path in tmp_path.iterdir()] == ["t.pdf"]


def test_inch_layout_is_drawn_in_the_same_mm() -> None:
    """workboat.yaml is in inches: the steering pump's place there times 25.4 mm, exact by definition."""
    (page,) = read("workboat", "A0")
    drawn = page.cross_at("steering_pump") - page.cross_at("crank")
    assert drawn == pytest.approx((-9.4 * 25.4, 9.1 * 25.4), abs=NEAR_MM)
