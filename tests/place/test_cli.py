"""`beltplan place`: report, exit status, refusals, JSON, table, pictures, progress, and what the README shows of it."""

import csv
import json
from argparse import Namespace
from pathlib import Path

import pytest

from beltplan.cli.progress import Bar
from beltplan.judging.stages import STATES, Place
from beltplan.layoutfile.layout_file import read_layout
from beltplan.place.advice import proof_of
from beltplan.place.cli import _written
from tests.cli.running import PROBLEM, ROOT, Runner
from tests.for_each import for_each

WORKBOAT = str(ROOT / "layouts" / "workboat.yaml")
ALTERNATOR = ("place", WORKBOAT, "--pulley", "alternator")
SMALL = ("--within", "150mm,260mm,210mm,390mm", "--step", "15mm")
ROUND_THE_CRANK = ("--within", "-10mm,10mm,-10mm,10mm", "--step", "5mm")
NUMBERS = {"at_mm", "adjuster_position", "reserve_mm", "take_up_percent", "margin", "own_margin"}


def test_the_report_names_now_best_and_belts(run: Runner) -> None:
    ran = run(*ALTERNATOR, *SMALL)
    assert (ran.code, ran.err) == (0, "")
    for head in ("BEST     alternator at x ", "NOW      x 9.00, y 11.80 in", "MARGIN  ", "WHY NOT  of 104 places"):
        assert head in ran.out
    assert "SAFETY  Engine off" in ran.out and "For each belt its best place" not in ran.out
    full = run(*ALTERNATOR, *SMALL, "--full", "--units", "mm").out
    assert "NOW      x 228.6, y 299.7 mm" in full and "For each belt its best place" in full
    assert "alternator over x 150.0 to 255.0 mm" in full


def test_json_holds_the_whole_result(run: Runner) -> None:
    ran = run(*ALTERNATOR, *SMALL, "--json")
    found = json.loads(ran.out, parse_constant=pytest.fail)
    assert found["bounds_mm"] == {"x": [150.0, 255.0], "y": [210.0, 390.0]} and found["step_mm"] == 15.0
    assert sum(found["counts"].values()) == found["rows"] * found["columns"] == 8 * 13
    assert set(found["counts"]) == set(STATES)
    assert found["present"]["at_mm"] == {"alternator": [pytest.approx(228.6), pytest.approx(299.72)]}
    assert found["nearest_without_problem"]["distance_mm"] == 0.0
    assert found["best"]["verdict"] == "sound" and found["best"]["check"].startswith("works on paper")
    assert set(found["best"]) > NUMBERS and found["best_is_robust"]
    assert sum(found["failing"].values()) == found["counts"]["problem"] and found["may_be_off_mm"] == 3.0
    assert found["best"]["stays_without_caution_mm"][0] >= 3.0


def test_the_table_has_a_row_for_every_place(run: Runner, here: Path) -> None:
    run(*ALTERNATOR, *SMALL, "--csv", "places.csv")
    rows = list(csv.DictReader((here / "places.csv").read_text(encoding="utf-8").splitlines()))
    found = json.loads(run(*ALTERNATOR, *SMALL, "--json").out)
    assert {state: [row["verdict"] for row in rows].count(state) for state in STATES} == found["counts"]
    best, *_ = found["best_by_belt"]
    (row,) = (r for r in rows if [float(r["x_mm"]), float(r["y_mm"])] == best["at_mm"]["alternator"])
    assert row["belt"] == best["belt"] and float(row["margin_percent"]) == pytest.approx(
        100.0 * best["margin"], abs=0.05 + 1e-9
    )
    assert float(row["wrap_alternator_deg"]) > 120.0
    assert not any(row["belt"] for row in rows if row["verdict"] == "no path")


def test_the_best_place_by_check_itself(run: Runner, here: Path) -> None:
    """The place that is named, written into the file, gets from `check` the verdict that was promised."""
    best = json.loads(run(*ALTERNATOR, *SMALL, "--json").out)["best"]
    x, y = (value / 25.4 for value in best["at_mm"]["alternator"])
    text = Path(WORKBOAT).read_text(encoding="utf-8")
    (here / "moved.yaml").write_text(text.replace("at: [9.0, 11.8]", f"at: [{x!r}, {y!r}]"), encoding="utf-8")
    checked = json.loads(run("check", "moved.yaml", "--json").out)
    assert checked["verdict"] == best["check"] and checked["belt"]["designation"] == best["belt"]
    assert checked["adjuster"]["position"] == pytest.approx(best["adjuster_position"], abs=1e-6)


def test_the_best_place_is_written_and_check_agrees(run: Runner, here: Path) -> None:
    """The file as it was, comments and all, but for the place: `check` finds there what the map promised."""
    told = json.loads(run(*ALTERNATOR, *SMALL, "--write", "best.yaml", "--json").out)
    assert told["written"] == "best.yaml" and told["belts"] == "stock"
    checked = json.loads(run("check", "best.yaml", "--json").out)
    assert checked["verdict"] == told["best"]["check"] and checked["belt"]["designation"] == told["best"]["belt"]
    text, old = ((here / "best.yaml").read_text("utf-8"), Path(WORKBOAT).read_text("utf-8"))
    lines = [line for line in text.splitlines() if line not in old.splitlines()]
    assert text.startswith("# Changed by `beltplan place` from workboat.yaml; a plan on paper, not an approval:")
    assert len(lines) == 5 and "alternator moved to x " in lines[1] and lines[3].lstrip().startswith("at: [")
    assert lines[4] == "    planned: true"
    refused = run(*ALTERNATOR, *SMALL, "--write", "best.yaml")
    assert refused.code == 2 and "which exists already; allowed: a name that is not taken, or --force" in refused.err
    assert "WRITTEN  best.yaml" in run(*ALTERNATOR, *SMALL, "--write", "best.yaml", "--force").out


def test_the_best_place_goes_into_the_variant_that_was_judged(run: Runner, here: Path) -> None:
    inside = ("--within", "180mm,330mm,120mm,390mm", "--step", "15mm", "--variant", "alternator low")
    best = json.loads(run(*ALTERNATOR, *inside, "--write", "boat.yaml", "--json").out)["best"]
    now = json.loads(run("place", "boat.yaml", *ALTERNATOR[2:], *inside, "--json").out)["present"]
    assert now["at_mm"]["alternator"] == pytest.approx(best["at_mm"]["alternator"], abs=0.0128)
    base = json.loads(run(*ALTERNATOR, *SMALL, "--json").out)["present"]
    assert json.loads(run("place", "boat.yaml", *ALTERNATOR[2:], *SMALL, "--json").out)["present"] == base


def test_a_place_is_rounded_once_in_the_unit_of_the_file(run: Runner, here: Path) -> None:
    """1 in is 25.4 mm (ISO 80000-3:2019): written to 0.001 in, as its comment says, and shown rounded from itself."""
    shown = run(*ALTERNATOR, *SMALL, "--write", "best.yaml").out
    (best,) = json.loads(run(*ALTERNATOR, *SMALL, "--json").out)["best"]["at_mm"].values()
    text = (here / "best.yaml").read_text("utf-8")
    x, y = (round(mm / 25.4, 3) for mm in best)
    assert f"alternator moved to x {x:.3f}, y {y:.3f} in" in text and f"at: [{x:g}, {y:g}]" in text
    assert "alternator at x {:.2f}, y {:.2f} in".format(*(mm / 25.4 for mm in best)) in shown


def test_a_place_that_is_written_is_planned_and_no_longer_as_sure_as_the_old_one(run: Runner, here: Path) -> None:
    """What was taped of the old place tells nothing of one where nothing is drilled: the usual 1 mm stands for it."""
    text = Path(WORKBOAT).read_text("utf-8")
    (at,) = (line for line in text.splitlines() if line.startswith("    at: [9.0, 11.8]"))
    sure = "    uncertainty: {position_mm: 0.2, diameter_mm: 0.1}"
    (here / "sure.yaml").write_text(text.replace(at, f"{at}\n{sure}"), "utf-8")
    run("place", "sure.yaml", *ALTERNATOR[2:], *SMALL, "--write", "best.yaml")
    was, now = (json.loads(run("tolerance", f"{name}.yaml", "--json").out) for name in ("sure", "best"))
    for told, sure_mm, placed in ((was, 0.2, []), (now, 1.0, [{"name": "alternator", "within_mm": 1.0}])):
        rows = [row for row in told["measurements"] if row["pulley"] == "alternator"]
        assert {row["measurement"]: row["deviation"] for row in rows} == {"x": sure_mm, "y": sure_mm, "diameter": 0.1}
        assert told["to_place"] == placed


def test_of_two_the_one_that_stays_is_written_as_it_was(here: Path) -> None:
    """Its place is neither rounded nor called moved; 9.0004 in is none of the thousandths that are written."""
    text = Path(WORKBOAT).read_text("utf-8").replace("at: [9.0, 11.8]", "at: [9.0004, 11.8]")
    (here / "boat.yaml").write_text(text, "utf-8")
    file, names = read_layout("boat.yaml"), ["idler", "alternator"]
    (x, y), stays = (file.layout.pulleys[name].at_mm or (0.0, 0.0) for name in names)
    best = proof_of(file.layout, names, Place(((x + 1.0, y), stays), "sound"))
    chosen = Namespace(write="best.yaml", pulley=names, belt="stock", force=False)
    assert best is not None and _written(file, chosen, best).path == "best.yaml"
    told = (here / "best.yaml").read_text("utf-8")
    assert "idler moved to" in told and "alternator moved" not in told and "at: [9.0004, 11.8]" in told


def test_nothing_is_written_where_no_place_is_better(run: Runner, here: Path) -> None:
    ran = run(*ALTERNATOR, *ROUND_THE_CRANK, "--write", "none.yaml")
    assert ran.code == 1 and "NO FILE  written: no better place was found" in ran.out and list(here.iterdir()) == []


def test_belts_of_any_length(run: Runner, here: Path) -> None:
    """Where one belt is to be had most places lack one; of any length each has one, with more in hand."""
    (here / "one.yaml").write_text(f"{Path(WORKBOAT).read_text('utf-8')}\nstock: [6PK1870]\n", encoding="utf-8")
    asked = ("place", "one.yaml", *ALTERNATOR[2:], "--within", "180mm,260mm,210mm,345mm", "--step", "15mm")
    found, stock = (json.loads(run(*asked, "--json", "--belt", each).out) for each in ("any", "stock"))
    assert found["counts"]["no belt fits"] == 0 < stock["counts"]["no belt fits"]
    assert found["counts"]["sound"] > stock["counts"]["sound"] > 0
    assert found["best"]["reserve_mm"] > 0.0 and found["belts"] == "any"
    told = " ".join(run(*asked, "--belt", "any", "--write", "any.yaml").out.split())
    assert "BELTS each place has the length, in whole mm" in told and "WRITTEN any.yaml" in told
    checked = json.loads(run("check", "any.yaml", "--json").out)
    assert checked["verdict"] == found["best"]["check"] and checked["belt"]["designation"] == found["best"]["belt"]
    assert "if it is sold" in (here / "any.yaml").read_text("utf-8")


def test_exit_status_1_where_every_place_has_a_problem(run: Runner) -> None:
    ran = run(*ALTERNATOR, *ROUND_THE_CRANK)
    assert ran.code == 1 and "BEST     none" in ran.out
    found = json.loads(run(*ALTERNATOR, *ROUND_THE_CRANK, "--json").out)
    assert found["best"] is None and found["best_by_belt"] == [] and found["nearest_without_caution"] is not None


def test_where_a_move_gains_too_little_it_says_stay(run: Runner, here: Path) -> None:
    """The alternator stands half a mm off the best place of the map."""
    text = Path(WORKBOAT).read_text(encoding="utf-8")
    (here / "near.yaml").write_text(text.replace("at: [9.0, 11.8]", "at: [6.98, 14.07]"), encoding="utf-8")
    near = ("place", "near.yaml", "--pulley", "alternator", "--within", "130mm,240mm,300mm,410mm", "--step", "4mm")
    ran = run(*near)
    assert ran.code == 0 and "BEST     stay where you are: the best of the map (x " in ran.out
    found = json.loads(run(*near, "--json").out)
    assert found["best"]["at_mm"] == found["present"]["at_mm"] and "of margin" in found["stay_because"]


def test_where_the_default_map_is_too_coarse_it_looks_closer_by_itself(run: Runner) -> None:
    """No place of the map itself surely stays without a problem as far as 3 mm."""
    asked = ("place", str(ROOT / "layouts" / "camper.yaml"), "--pulley", "house_alternator", "--json")
    found = json.loads(run(*asked).out)
    assert found["best_is_robust"] and found["best"]["stays_without_problem_mm"][0] >= 3.0 < found["step_mm"]


def test_lengths_are_in_the_files_unit_or_carry_their_own(run: Runner) -> None:
    """1 in is 25.4 mm; the file is in inches."""
    asked = (("150mm,260mm,210mm,390mm", "15mm"), ("5.905511811,10.236220472,8.267716535,15.354330709", "0.590551181"))
    mm, inches = (json.loads(run(*ALTERNATOR, "--within", box, "--step", step, "--json").out) for box, step in asked)
    assert mm["step_mm"] == inches["step_mm"] == 15.0 and mm["bounds_mm"] == inches["bounds_mm"]
    whole = json.loads(run(*ALTERNATOR, "--within", '6in,10 1/4in,8",15in', "--step", "1/2in", "--json").out)
    assert whole == json.loads(run(*ALTERNATOR, "--within", '6in 10.25in 8" 15in', "--step", "1/2in", "--json").out)
    assert whole["bounds_mm"]["x"][0] == 152.4 and whole["step_mm"] == 12.7


@pytest.mark.usefixtures("drawn")
def test_a_layout_without_a_path_now_may_have_one_elsewhere(run: Runner, here: Path) -> None:
    text = Path(WORKBOAT).read_text(encoding="utf-8")
    (here / "lost.yaml").write_text(text.replace("at: [9.0, 11.8]", "at: [0.0, 3.0]"), encoding="utf-8")
    assert run("check", "lost.yaml").code == 2
    ran = run("place", "lost.yaml", "--pulley", "alternator", *SMALL, "--picture", "lost.png")
    assert ran.code == 0 and "NOW      x 0.00, y 3.00 in: no path; the nearest place without a problem is " in ran.out
    assert (here / "lost.png").read_bytes().startswith(b"\x89PNG")


def test_a_variant(run: Runner) -> None:
    ran = run(*ALTERNATOR, *SMALL, "--variant", "alternator low")
    assert "(variant: alternator low)" in ran.out and "NOW      x 10.40, y 6.60 in" in ran.out


@for_each(
    ((), "the following arguments are required: --pulley"),
    (("--pulley", "dynamo"), "--pulley: got 'dynamo' (write alternator); allowed: crank, "),
    (("--pulley", "none"), "--pulley: got 'none'; allowed: crank, "),
    (("--pulley", "tensoner"), "--pulley: got 'tensoner', whose place follows from its arm or slide"),
    (
        ("--pulley", "tensioner"),
        "--pulley: got 'tensioner', whose place follows from its arm or slide: try others as `variants`",
    ),
    (("--pulley", "idler", "--pulley", "idler"), "allowed: one pulley, or two different ones"),
    (("--pulley", "idler", "--within", "0,1,2"), "--within: got '0,1,2'; allowed: four lengths x0,x1,y0,y1 in inches"),
    (
        ("--pulley", "idler", "--within", "0,1,2,nan"),
        "--within: got '0,1,2,nan'; allowed: four lengths x0,x1,y0,y1 in inches",
    ),
    (("--pulley", "idler", "--within", "9,1,2,3"), "--within: got '9,1,2,3'; allowed: x from, x to, y from, y to"),
    (("--pulley", "idler", "--within", "0,1e-300,0,1"), "allowed: x from, x to, y from, y to"),
    (("--pulley", "idler", "--step", "0"), "--step: got '0'; allowed: a length of 0.01 mm or more in inches"),
    (("--pulley", "idler", "--step", "-3"), "--step: got '-3'; allowed: a length of 0.01 mm or more"),
    (("--pulley", "idler", "--step", "fine"), "--step: got 'fine'; allowed: a length of 0.01 mm or more"),
    (("--pulley", "idler", "--step", "0.1mm"), "--step: got '0.1mm', which makes 70,"),
    (("--pulley", "idler", "--step", "1e-300"), "--step: got '1e-300'; allowed: a length of 0.01 mm or more"),
    (("--pulley", "idler", "--step", "1e999"), "--step: got '1e999'; allowed: a length of 0.01 mm or more"),
    (("--pulley", "idler", "--belt", "every"), "--belt: got 'every'; allowed: stock, any"),
    (("--pulley", "idler", "--force"), "--force: got no --write beside it; allowed: with --write FILE"),
    (("--pulley", "idler", "--write", "no/such.yaml"), "--write: got 'no/such.yaml'; allowed: a place in a folder"),
    (("--pulley", "idler", "--pulley", "crank", "--step", "3"), "--step: got '3' with two pulleys"),
)
def test_refused_in_words(run: Runner, here: Path, options: tuple[str, ...], words: str) -> None:
    ran = run("place", WORKBOAT, *options)
    assert ran.code == 2 and ran.out == "" and words in ran.err
    assert list(here.iterdir()) == []


def test_a_pulley_that_the_belt_leaves_out(run: Runner, here: Path) -> None:
    text = PROBLEM.replace("route:", "  spare: {role: idler, at: [0, 300], diameter: 60}\nroute:")
    (here / "spare.yaml").write_text(text)
    ran = run("place", "spare.yaml", "--pulley", "spare")
    assert ran.code == 2 and "'spare', which is not on the belt's route; allowed: one of crank" in ran.err


@pytest.mark.usefixtures("drawn")
def test_two_pulleys(run: Runner, monkeypatch: pytest.MonkeyPatch, here: Path) -> None:
    monkeypatch.setattr("beltplan.place.pair.DRAWS", 1200)
    monkeypatch.setattr("beltplan.place.pair.CLOSER_DRAWS", 200)
    both = (*ALTERNATOR, "--pulley", "steering_pump")
    ran = run(*both, "--picture", "pair.svg", "--full")
    told = " ".join(ran.out.split())
    assert ran.code == 0 and "pairs tried" in told and "BEST     alternator x " in ran.out
    assert (here / "pair.svg").read_text(encoding="utf-8").startswith("<?xml")
    found = json.loads(run(*both, "--json").out, parse_constant=pytest.fail)
    assert "pairs tried (seed 1)" in told and len(found["foremost"]) >= 10
    assert found["seed"] == 1 and found["draws"] == 1200 + 4 * 200
    assert set(found["best"]["at_mm"]) == {"alternator", "steering_pump"}
    assert found["best"]["margin"] >= found["present"]["margin"]


class _Terminal:
    """A stand-in for standard error."""

    def __init__(self, watched: bool) -> None:
        self.text, self._watched = "", watched

    def isatty(self) -> bool:
        return self._watched

    def write(self, text: str) -> None:
        self.text += text

    def flush(self) -> None:
        pass


def _shown(monkeypatch: pytest.MonkeyPatch, watched: bool, seconds_a_step: float) -> str:
    """What a bar writes over ten steps that take so long each, by a clock of our own."""
    clock, terminal = [0.0], _Terminal(watched)
    monkeypatch.setattr("beltplan.cli.progress.time.monotonic", lambda: clock[0])
    monkeypatch.setattr("beltplan.cli.progress.sys.stderr", terminal)
    bar = Bar("judging")
    for step in range(1, 11):
        clock[0] += seconds_a_step
        bar(step / 10.0)
    bar.done()
    return terminal.text


def test_a_bar_for_long_work_on_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = _shown(monkeypatch, True, 0.5)
    assert "judging [####" in shown and "100 %" in shown and shown.endswith("\r")
    assert _shown(monkeypatch, True, 0.05) == ""
    assert _shown(monkeypatch, False, 0.5) == ""


def test_no_bar_is_wider_than_its_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for columns in (72, 80, 200):
        monkeypatch.setenv("COLUMNS", str(columns))
        shown = _shown(monkeypatch, True, 0.5)
        assert 60 < max(map(len, shown.split("\r"))) < columns


@pytest.mark.parametrize("name", ["layout.csv", "./layout.csv"])
def test_the_table_never_overwrites_the_layout(run: Runner, here: Path, name: str) -> None:
    layout = here / "layout.csv"
    layout.write_bytes(Path(WORKBOAT).read_bytes())
    ran = run("place", "layout.csv", "--pulley", "idler", "--csv", name, *SMALL)
    assert (ran.code, ran.out) == (2, "") and "another file than the layout's own" in ran.err
    assert layout.read_bytes() == Path(WORKBOAT).read_bytes()


def test_slip_at_the_best_place_of_a_belt_is_that_of_the_table(run: Runner, here: Path) -> None:
    ran = run(*ALTERNATOR, *SMALL, "--json", "--csv", "map.csv")
    best, *_ = json.loads(ran.out)["best_by_belt"]
    with open("map.csv", encoding="utf-8", newline="") as table:
        rows = {(float(row["x_mm"]), float(row["y_mm"])): row for row in csv.DictReader(table)}
    own = rows[tuple(best["at_mm"]["alternator"])]
    assert float(own["slip_use_wet"]) == pytest.approx(best["slip_wet"], abs=1e-3) and best["slip_wet"] > 0.1


def test_variants_that_the_best_place_makes_worse_are_named(run: Runner, here: Path) -> None:
    """The other variant keeps the belt of the present place, which is too short for the best one."""
    text = Path(WORKBOAT).read_text(encoding="utf-8")
    (here / "two.yaml").write_text(
        text.replace("variants:\n", "variants:\n  lower: {belt: 6PK1840}\n"), encoding="utf-8"
    )
    asked = ("place", "two.yaml", "--pulley", "alternator", *SMALL, "--write", "best.yaml", "--force")
    assert "gives them more problems: lower (" in " ".join(run(*asked).out.split())
    judged = json.loads(run("check", "best.yaml", "--variant", "lower", "--json").out)
    after = sum(finding["severity"] == "problem" for finding in judged["findings"])
    (told,) = json.loads(run(*asked, "--json").out)["made_worse"]
    assert after and (told["variant"], told["problems_after"]) == ("lower", after)
