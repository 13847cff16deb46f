"""The search for routes as text and as JSON."""

import json
import math
import re
from functools import cache
from pathlib import Path

import pytest

from beltplan.checks.margin import Margin
from beltplan.drive.layout import Layout
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.cells import compare_scene
from beltplan.report.screen import Screen, shown
from beltplan.routes.report import margin_words, route_json, route_report, side_by_side
from beltplan.routes.study import RouteSearch, search_routes
from tests.checks.drives import layout, pulley
from tests.for_each import for_each
from tests.routes.drives import narrowed, scattered

LAYOUTS = Path(__file__).parents[2] / "layouts"
KEYS = [
    "title", "variant", "verdict", "orders", "found", "judged", "exhaustive", "beam", "seed", "own", "notes", "routes",
    "rule", "caution",
]  # fmt: skip
ROUTE_KEYS = ["rank", "own", "route", "back", "left_out", "verdict", "belt", "margin", "counts", "findings"]


def route_text(search: RouteSearch, most: int, full: bool = True) -> str:
    return shown(route_report(search, most, full), Screen())


@cache
def made(name: str) -> RouteSearch:
    """A search by name."""
    if name == "beam":
        with pytest.MonkeyPatch.context() as patch:
            narrowed(patch, 12, 6)
            return search_routes(_shipped("workboat"))
    if name == "left out":
        return search_routes(scattered(4, 6, open_sides=2, optional=1, size=0.2))
    if name.startswith("tied"):
        # As in a mirror: the idler notches the belt from the left or from the right.
        given = [pulley(n, "fan", x, 300) for n, x in (("left", -300), ("right", 300))]
        given.insert(2 * name.endswith("right"), pulley("guide", "idler", 0, 150, belt_side="back"))
        return search_routes(layout(pulley("crank", "crankshaft", 0, 0), *given))
    if name == "not own":
        given = [pulley(n, "fan", x, y) for n, x, y in (("b", 300, 300), ("a", 300, 0), ("c", 0, 300))]
        return search_routes(layout(pulley("crank", "crankshaft", 0, 0), *given))
    return search_routes(_shipped(name))


def _shipped(stem: str) -> Layout:
    return read_layout(str(LAYOUTS / f"{stem}.yaml")).layout


TIED = ("tied left", "tied right")
NAMES = ("camper", "workboat", "beam", "left out", "not own", *TIED)


@for_each(*NAMES)
def test_no_line_is_too_long_and_every_route_is_listed_best_first(name: str) -> None:
    text = route_text(made(name), 24)
    assert max(map(len, text.splitlines())) <= 100
    assert max(map(len, shown(route_report(made(name), 24, True), Screen(72)).splitlines())) <= 72
    leads = [found for line in text.splitlines() if (found := re.match(r"[ \d]*(\d+)[a-z]?  (?=\S)", line))]
    assert [int(lead[0].strip(" ab")) for lead in leads] == [route.rank for route in made(name).routes]
    assert len({lead[0] for lead in leads}) == len(leads), "a number each, though some share a rank"
    assert "SAFETY  Rotating belts" in text


@for_each(*NAMES)
def test_fixed_keys_and_finite_numbers(name: str) -> None:
    text = route_json(made(name), 24)
    told = json.loads(text, parse_constant=pytest.fail)
    assert text.isascii() and list(told) == KEYS
    assert all(list(route) == ROUTE_KEYS for route in told["routes"])
    assert (told["found"], told["judged"]) == (made(name).found, len(made(name).routes)) and told["routes"]
    assert (told["own"]["rank"] is None) == (told["own"]["not_found"] is not None)
    assert (told["beam"] is None) == (told["seed"] is None) == told["exhaustive"]
    for route in told["routes"]:
        counted = [finding["severity"] for finding in route["findings"]]
        assert route["counts"] == {severity: counted.count(severity) for severity in ("problem", "caution", "note")}
        assert set(route["back"]) <= set(route["route"]) and not set(route["left_out"]) & set(route["route"])


def test_only_the_best_are_listed_where_fewer_are_asked_for() -> None:
    assert "and 8 more judged (--most)" in route_text(made("workboat"), 2)
    assert [route["rank"] for route in json.loads(route_json(made("workboat"), 2))["routes"]] == [1, 2]


def test_a_single_order_is_not_counted() -> None:
    words = " ".join(route_text(search_routes(_shipped("orchard_sprayer")), 6, False).split())
    assert "OWN the file's own route is the only one LOOKED at the only order: 1 route can be laid" in words


def test_how_it_was_done_and_notes_wait_for_full() -> None:
    short, full = (route_text(made("workboat"), 2, each) for each in (False, True))
    assert "Rule: fewest problems" in full and "  note     " in full and "design setting while routes" in full
    assert "Rule:" not in short and "  note     " not in short and "more: --full" in short


def test_what_is_tightest_is_told_with_its_side_of_the_limit() -> None:
    text = " ".join(route_text(made("camper"), 6).split())
    assert "tightest: slip when wet and revving of crank, 12.9 % beyond its limit" in text
    assert "span engine_alternator to house_alternator against engine_mount, no gap at all" in text
    assert "tightest: wrap of water_pump, 17.7 % inside its limit" in " ".join(route_text(made("workboat"), 6).split())


@for_each(
    (0.177, "wrap", True, "17.7 % inside its limit"),
    (-0.2, "wrap", True, "20.0 % short of its limit"),
    (-0.2, "grooves", True, "20.0 % short of its limit"),
    (-0.2, "slip when wet", False, "20.0 % beyond its limit"),
    (-31.2, "slip when wet and revving", False, "far beyond its limit"),
    (-1.0, "clearance", True, "no gap at all"),
    (-3.0, "reserve", True, "far short of its limit"),
    (-math.inf, "slip when wet", False, "a span hangs slack"),
)
def test_what_is_far_beyond_its_limit_is_told_without_percents(
    share: float, of: str, of_least: bool, words: str
) -> None:
    """Of a least value nothing at all is left at -1, of a most there is twice as much."""
    assert margin_words(Margin(share, of, "it", of_least)) == f"{of} of it, {words}"
    caution = margin_words(Margin(share, of, "belt", of_least), share < 0.0)
    assert caution == f"{of}, {words}{', a caution' * (share < 0.0)}"


def test_a_part_is_told_as_a_span_where_it_is_one_whatever_its_name() -> None:
    near = Margin(0.25, "clearance", "fan to pump / hose to tank", True)
    told = "span fan to pump against hose to tank, 25.0 % inside its limit"
    assert margin_words(near, spans=("fan to pump", "pump to fan")) == told


def test_where_no_route_works_that_is_told_first_and_the_nearest_with_what_it_lacks() -> None:
    """The camper has a problem on whichever route; the workboat has one that works."""
    none, works = (route_text(made(name), 6, False).splitlines() for name in ("camper", "workboat"))
    assert none[1] == "NONE     none of the 3 routes judged works; nearest:"
    assert none[3] == "         2 problems, 2 cautions; 6PK2360" and "TO DO  for the nearest" in none
    assert works[1].startswith("BEST     keep your route: crank > ") and "TO DO  for the best  nothing" in works
    said = side_by_side(made("camper"), 6).said
    assert said == "None of the 3 routes judged works. Order 1 comes nearest"
    assert side_by_side(made("workboat"), 6).said.startswith("Best: order 1, the file's own route. It works on paper")


def test_where_the_files_own_route_stands() -> None:
    assert "the file's own route ranks 2 of 3\n" in route_text(made("camper"), 6)
    assert "the file's own route ranks first" in route_text(made("workboat"), 6)
    assert "not among these" in route_text(made("not own"), 6)
    assert [r["own"] for r in json.loads(route_json(made("camper"), 6))["routes"]] == [False, True, False]


@for_each(*TIED)
def test_on_a_tie_the_files_own_route_is_the_best_and_every_number_is_one_route(name: str) -> None:
    """By symmetry two routes are as good as each other: whichever is the file's own, it comes first."""
    search = made(name)
    assert [(route.rank, route.own) for route in search.routes[:2]] == [(1, True), (1, False)]
    text, told = route_text(search, 6), json.loads(route_json(search, 6))
    assert [route["own"] for route in told["routes"][:2]] == [True, False]
    assert "the file's own route ranks first of 3, as does 1 other\n" in text
    assert "nearest, your own:" in text
    assert "Of routes that rank the same the file's own comes first." in " ".join(text.split())
    pictured = side_by_side(search, 6)
    assert pictured.said.startswith("None of the 3 routes judged works. Order 1a comes nearest")
    scene = compare_scene(pictured)
    assert (
        [label.text for label in scene.labels if label.name == "rank"] == ["1a", "1b", "3"] == [*pictured.table.heads]
    )
    leads = [line[:5] for line in text.splitlines() if re.match(r" 1[ab]  crank > ", line)]
    assert leads == [" 1a  ", " 1b  "]


def test_a_beam_is_told_with_its_seed_and_width() -> None:
    text = " ".join(route_text(made("beam"), 6).split())
    assert "NOT EXHAUSTIVE" in text and "beam of 4,000 part routes was followed (seed 1)" in text
    assert "NOT EXHAUSTIVE" not in route_text(made("workboat"), 6)
    told = json.loads(route_json(made("beam"), 6))
    assert (told["exhaustive"], told["beam"], told["seed"]) == (False, 4000, 1)


def test_what_is_left_out_is_told() -> None:
    left = [route.left_out for route in made("left out").routes]
    assert any(left), "no route leaves anything out: nothing is tested"
    assert [tuple(route["left_out"]) for route in json.loads(route_json(made("left out"), 24))["routes"]] == left
    assert route_text(made("left out"), 24).count("without p3") == sum(map(bool, left))


def test_what_to_ask_for_is_worded_as_in_check() -> None:
    """The lengths once, in what to do about the best."""
    given = read_layout("tests/cases/pm_stock.yaml").layout
    words = " ".join(route_text(search_routes(given), 3).split())
    asked = "no list of PM lengths is built in; as far as known, PM begins at 2286 mm, and this drive takes 2022.1 to"
    assert (
        words.count(asked) == 1
        and words.count("no list of PM lengths") == 2
        and "no belt on the list fits" not in words
    )
