"""`beltplan tolerance`: seed and draws, every ending, refusals in words, nothing left half-written."""

import json
import re
from pathlib import Path

import pytest

from tests.cli.running import EXAMPLE, OVERLAPPING, ROOT, Runner
from tests.for_each import for_each

WORKBOAT = str(ROOT / "layouts" / "workboat.yaml")
FEW = ("--draws", "300")


def test_same_seed_same_text_and_seed_and_draws_are_in_it(run: Runner) -> None:
    first, again = (run("tolerance", EXAMPLE, *FEW, "--seed", "5") for _ in range(2))
    other = run("tolerance", EXAMPLE, *FEW, "--seed", "6")
    assert first == again and (first.code, first.err) == (0, "")
    assert first.out != other.out
    assert "300 draws, seed 5" in run("tolerance", EXAMPLE, *FEW, "--seed", "5", "--full").out


def test_the_seed_is_fixed_where_none_is_asked_for(run: Runner) -> None:
    assert run("tolerance", EXAMPLE, *FEW) == run("tolerance", EXAMPLE, *FEW, "--seed", "1")


def test_json_and_variant(run: Runner) -> None:
    found = json.loads(run("tolerance", WORKBOAT, *FEW, "--json", "--variant", "alternator low").out)
    assert (found["variant"], found["draws"]) == ("alternator low", 300)


def test_units_are_those_asked_for(run: Runner) -> None:
    inches, mm = (run("tolerance", WORKBOAT, *FEW, *words).out for words in ((), ("--units", "mm")))
    assert "std. dev., in" in inches and "std. dev. mm" in mm


def test_a_layout_that_no_belt_fits_ends_with_1(run: Runner) -> None:
    ran = run("tolerance", ROOT / "layouts" / "too_tight.yaml", *FEW)
    assert (ran.code, ran.err) == (1, "") and "no belt on the list can be fitted" in ran.out


def test_while_a_problem_stands_nothing_is_bought_and_it_ends_with_1(run: Runner) -> None:
    ran = run("tolerance", ROOT / "layouts" / "camper.yaml", *FEW)
    assert (ran.code, ran.err) == (1, "") and "BUY      nothing yet, for a mend may change the length" in ran.out


@pytest.mark.usefixtures("drawn")
@pytest.mark.parametrize(("name", "nearest"), [("asym", "12PK2480"), ("good_tall", "6PK3070")])
def test_none_is_bought_that_would_rather_not_be_fitted(run: Runner, here: Path, name: str, nearest: str) -> None:
    """Cases whose best belt can be fitted in one of four or five draws, and keeps its reserves in none."""
    case = ROOT / "tests" / "cases" / f"{name}.yaml"
    ran = run("tolerance", case, "--draws", "2000", "--picture", "t.svg")
    assert (ran.code, ran.err) == (1, "") and f"BUY      none; the nearest is {nearest} (" in ran.out
    assert re.search(rf"^{nearest} .* <- nearest$", ran.out, re.MULTILINE) and "<- buy" not in ran.out
    found = json.loads(run("tolerance", case, "--draws", "2000", "--json").out)
    assert (found["buy"], found["nearest"]) == (None, nearest)


@for_each(
    (("--draws", "99"), "got '99'; allowed: a whole number 100 to 200000"),
    (("--draws", "200001"), "allowed: a whole number 100 to 200000"),
    (("--draws", "1e4"), "got '1e4'"),
    (("--draws", ""), "got ''"),
    (("--draws", "9" * 5000), "allowed: a whole number"),
    (("--seed=-1",), "got '-1'; allowed: a whole number 0 to 4294967295"),
    (("--seed", "4294967296"), "allowed: a whole number"),
    (("--seed", "x"), "got 'x'"),
)
def test_bad_options(run: Runner, here: Path, words: tuple[str, ...], told: str) -> None:
    ran = run("tolerance", EXAMPLE, *(() if "--draws" in words else FEW), *words)
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert told in ran.err and "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            OVERLAPPING + "uncertainty: {position_mm: -2}\n",
            "uncertainty.position_mm: got -2; allowed: a number 0 to 100 mm",
        ),
        (OVERLAPPING + "uncertainty: [1]\n", "uncertainty: got a list"),
    ],
)
def test_bad_layouts(run: Runner, here: Path, text: str, told: str) -> None:
    Path("layout.yaml").write_text(text)
    ran = run("tolerance", "layout.yaml", "--picture", "t.png")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [here / "layout.yaml"])
    assert told in ran.err
