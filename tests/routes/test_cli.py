"""`beltplan route`: exit status, refusals, options, JSON and pictures."""

import json
import re
from pathlib import Path

import pytest

from beltplan.picture.scene import Scene
from tests.cli.running import OVERLAPPING, PROBLEM, ROOT, Runner
from tests.for_each import for_each

CAMPER, RAILCAR, WORKBOAT, TIGHT = (
    str(ROOT / "layouts" / f"{stem}.yaml") for stem in ("camper", "railcar", "workboat", "too_tight")
)


def routes(run: Runner, *arguments: object) -> list[dict[str, object]]:
    ran = run("route", *arguments, "--json")
    assert ran.err == "" and ran.code in (0, 1)
    found: list[dict[str, object]] = json.loads(ran.out, parse_constant=pytest.fail)["routes"]
    return found


def test_exit_status_is_that_of_the_best(run: Runner, here: Path) -> None:
    assert run("route", WORKBOAT).code == 0
    assert run("route", CAMPER).code == 1
    assert run("route", CAMPER, "--variant", "with idler").code == 0


def test_the_files_own_route_is_judged_as_check_judges_it(run: Runner) -> None:
    (own,) = (route for route in routes(run, CAMPER) if route["own"])
    alone = json.loads(run("check", CAMPER, "--json").out)
    assert (own["verdict"], own["findings"], own["belt"]) == (
        alone["verdict"], alone["findings"], alone["belt"]["designation"]
    )  # fmt: skip


def test_the_order_of_the_file_does_not_matter(run: Runner, here: Path) -> None:
    text = Path(RAILCAR).read_text(encoding="utf-8")
    listed = "route: [crank, tensioner, compressor, crane_pump, water_pump, alternator, guide]"
    assert listed in text
    Path("other.yaml").write_text(
        text.replace(listed, "route: [guide, crank, crane_pump, tensioner, compressor, alternator, water_pump]")
    )
    first, other = routes(run, RAILCAR), routes(run, "other.yaml")
    assert [route["route"] for route in first] == [route["route"] for route in other]
    assert [route["own"] for route in other] == [False] * len(other)


def test_what_is_to_be_written_makes_the_best_route_the_files_own(run: Runner, here: Path) -> None:
    """A wrong order, and a pulley on the wrong side: with both lines put into the file, check finds the best."""
    text = Path(RAILCAR).read_text(encoding="utf-8")
    listed, guide = "route: [crank, tensioner, compressor, ", "    diameter: 95\n    belt_side: back\n    plane: 0\n"
    wrong = text.replace(listed, "route: [compressor, crank, tensioner, ").replace(
        guide, guide.replace("back", "either")
    )
    assert wrong != text
    Path("wrong.yaml").write_text(wrong)
    ran = run("route", "wrong.yaml")
    told = " ".join(ran.out.split())
    found = re.search(r" DO write `(route: \[[\w, ]+\])` and `(belt_side: \w+)` on guide in the file OWN ", told)
    assert found is not None
    mended = re.sub(r"route: \[.*\]", found[1], wrong).replace("belt_side: either", found[2])
    Path("right.yaml").write_text(mended)
    best = routes(run, "wrong.yaml")[0]
    alone = json.loads(run("check", "right.yaml", "--json").out)
    assert (best["verdict"], best["belt"]) == (alone["verdict"], alone["belt"]["designation"])
    ran = run("route", "right.yaml")
    assert "BEST     keep your route: " in ran.out and "DO       write" not in ran.out


def test_either_side_and_optional(run: Runner, here: Path) -> None:
    text = Path(RAILCAR).read_text(encoding="utf-8")
    guide = "    diameter: 95\n    belt_side: back\n    plane: 0\n"
    assert text.count(guide) == 1
    Path("open.yaml").write_text(text.replace(guide, guide.replace("back", "either") + "    optional: true\n"))
    found = routes(run, "open.yaml", "--most", 24)
    assert {tuple(route["left_out"]) for route in found} == {(), ("guide",)}  # type: ignore[arg-type]
    assert {"guide" in route["back"] for route in found if not route["left_out"]} == {True, False}  # type: ignore[operator]
    told = json.loads(run("check", "open.yaml", "--json").out)
    notes = [
        (finding["severity"], finding["subject"]) for finding in told["findings"] if finding["check"] == "open_side"
    ]
    assert notes == [("note", "guide")]
    sides = {row["name"]: row["belt_side"] for row in told["pulleys"]}
    assert sides["guide"] == "back"


def test_no_route_at_all_is_refused_with_file_line_and_the_pulley(run: Runner, here: Path) -> None:
    Path("none.yaml").write_text(OVERLAPPING)
    ran = run("route", "none.yaml", "--picture", "p.png")
    assert (ran.code, ran.out) == (2, "") and list(here.iterdir()) == [here / "none.yaml"]
    assert ran.err.startswith("none.yaml:3: pulleys.crank, pulleys.far: crank and far overlap")
    ran = run("route", TIGHT)
    assert ran.code == 2 and "6 grooves" in ran.err
    assert (
        "too_tight.yaml:19: pulleys.steering_pump: steering_pump must turn counterclockwise, so it runs on " in ran.err
    )


def test_an_order_to_keep(run: Runner) -> None:
    every = routes(run, RAILCAR)
    kept = routes(run, RAILCAR, "--keep-order-of", "crank, crane_pump,water_pump,alternator")
    assert 0 < len(kept) < len(every)
    for route in kept:
        names = route["route"]
        assert isinstance(names, list) and names.index("crane_pump") < names.index("water_pump")


def test_so_many_are_listed(run: Runner) -> None:
    assert [len(routes(run, WORKBOAT, "--most", most)) for most in (1, 3, 24)] == [1, 3, 10]
    assert len(routes(run, WORKBOAT)) == 6


BAD = [
    ([], "usage: beltplan route"),
    (["--json"], "usage: beltplan route"),
    ([WORKBOAT, "--most", "0"], "--most: got '0'; allowed: a whole number 1 to 24"),
    ([WORKBOAT, "--most", "25"], "--most: got '25'; allowed: a whole number 1 to 24"),
    ([WORKBOAT, "--most", "x"], "--most: got 'x'; allowed: a whole number 1 to 24"),
    ([WORKBOAT, "--keep-order-of", "crank,idler"], "--keep-order-of: got 2 names; allowed: 4 or more"),
    ([WORKBOAT, "--keep-order-of", ""], "--keep-order-of: got ''; allowed: crank, "),
    ([WORKBOAT, "--keep-order-of", "a,crank,crank,idler"], "--keep-order-of: got 'a'; allowed: crank, "),
    ([WORKBOAT, "--keep-order-of", "crank,crank,idler,alternator"], "--keep-order-of: got 'crank' twice; allowed: "),
]


@for_each(*BAD)
def test_bad_input(run: Runner, here: Path, arguments: list[str], words: str) -> None:
    ran = run("route", *arguments)
    assert (ran.code, ran.out) == (2, "") and ran.err.startswith(words) and "Traceback" not in ran.err
    assert list(here.iterdir()) == []


def test_the_picture_shows_order_verdict_and_the_files_own(run: Runner, here: Path, drawn: list[Scene]) -> None:
    run("route", CAMPER, "--picture", "all.svg")
    # Whatever its lines are broken into.
    shown = " ".join(" ".join(label.text for label in drawn[0].labels).split())
    for words in ("crank > tensioner* >", "the file's own route", "6PK2360", "on the belt's back"):
        assert words in shown, words


def test_two_pulleys(run: Runner, here: Path) -> None:
    Path("two.yaml").write_text(PROBLEM)
    (only,) = routes(run, "two.yaml")
    assert only["route"] == ["crank", "far"] and only["own"] and only["left_out"] == []
