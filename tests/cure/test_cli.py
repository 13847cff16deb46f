"""`beltplan cure`: the answer, what is written and judged again by `check`, and bad options."""

import difflib
import json
import os
import re
from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from beltplan.checks.plan import plan_on
from beltplan.cli.rewrites import notes_of
from beltplan.cure import cli as command
from beltplan.cure import study
from beltplan.cure.changes import one_ways
from beltplan.cure.report import cure_report
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.rewriting import write_rewritten
from beltplan.report.screen import Screen, shown
from tests.cli.running import PROBLEM, ROOT, Runner
from tests.cure.drives import cures, layout_of, movable_railcar, problems_of, route
from tests.for_each import for_each

CAMPER = ROOT / "layouts" / "camper.yaml"
TOO_TIGHT = ROOT / "layouts" / "too_tight.yaml"
RAILCAR = ROOT / "layouts" / "railcar.yaml"


def test_the_camper_is_cured(run: Runner) -> None:
    ran = run("cure", CAMPER)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == shown(cure_report(cures("camper")), Screen()) + "\n"


def test_slack_as_the_engine_fires_is_cured_by_a_one_way_pulley(
    run: Runner, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The camper's first alternator on an engine that swings 0.5 deg: what is told is written, and `check` agrees."""
    text = CAMPER.read_text(encoding="utf-8").replace("cylinders: 4", "cylinders: 4, swing_deg: 0.5")
    Path("shaken.yaml").write_text(text, encoding="utf-8")
    before = json.loads(run("check", "shaken.yaml", "--json").out)["findings"]
    assert ("problem", "tension_swing") in {(each["severity"], each["check"]) for each in before}
    found = study.cures_of(read_layout("shaken.yaml", None).layout)
    monkeypatch.setattr(study, "cures_of", lambda layout, progress: found)
    ran = run("cure", "shaken.yaml", "--write", "cured.yaml", "--json")
    change = next(each for each in json.loads(ran.out)["cures"][0]["changes"] if each["family"] == "one_way")
    assert (ran.code, change["words"]) == (0, f"fit a one-way pulley on {change['target']}")
    assert f"DO {change['words']}" in " ".join(run("cure", "shaken.yaml").out.split())
    assert yaml.safe_load(Path("cured.yaml").read_text())["pulleys"][change["target"]]["one_way"] is True
    after = json.loads(run("check", "cured.yaml", "--json").out)["findings"]
    assert not [each for each in after if each["severity"] == "problem"]


def test_a_one_way_pulley_is_tried_on_alternators_that_have_none_where_the_firing_shakes_the_drive() -> None:
    laid = route("camper")
    shaken = replace(plan_on(laid).findings[0], check="tension_swing", severity="caution")
    assert [each.target for each in one_ways(laid, [shaken])] == ["engine_alternator"]
    assert one_ways(laid, [replace(shaken, severity="note")]) == one_ways(laid, [replace(shaken, check="wrap")]) == ()


def test_too_tight_ends_with_1_and_writes_the_nearest_as_what_it_is(run: Runner, here: Path) -> None:
    ran = run("cure", TOO_TIGHT, "--write", "nearer.yaml")
    left = problems_of(read_layout(str(here / "nearer.yaml")).layout)
    told = f"no cure: it leaves {left} problems"
    assert (ran.code, ran.err) == (1, "") and f"WRITTEN  nearer.yaml; {told}" in ran.out and 0 < left < 15
    assert told in (here / "nearer.yaml").read_text().splitlines()[0]


def test_where_no_change_leaves_fewer_problems_none_is_written(run: Runner, here: Path) -> None:
    """The sprayer has only cautions, and no change that was tried leaves fewer."""
    ran = run("cure", ROOT / "layouts" / "orchard_sprayer.yaml", "--write", "cured.yaml")
    assert ran.code == 0 and "NO FILE  written: no better layout was found" in ran.out
    assert list(here.iterdir()) == []


@pytest.mark.usefixtures("drawn")
def test_nothing_to_cure_ends_with_0(run: Runner, here: Path) -> None:
    ran = run("cure", ROOT / "layouts" / "workboat.yaml", "--write", "cured.yaml", "--picture", "cure.svg")
    assert (ran.code, ran.err) == (0, "") and "NOTHING TO CURE" in ran.out
    assert [path.name for path in here.iterdir()] == ["cure.svg"]


@pytest.mark.usefixtures("drawn")
def test_cautions_alone_end_with_0_and_their_cure_is_written(run: Runner, here: Path) -> None:
    ran = run("cure", RAILCAR, "--write", "cured.yaml", "--picture", "cure.svg")
    assert (ran.code, ran.err) == (0, "")
    assert "LEAVE IT: there is no problem to cure; one change would take away 1" in ran.out
    told = json.loads(run("check", "cured.yaml", "--json").out)["findings"]
    (left,) = (each for each in told if each["severity"] != "note")
    assert left["check"] == "current"


def test_the_smallest_is_written_where_it_is_asked_for(run: Runner, here: Path) -> None:
    told = json.loads(run("cure", CAMPER, "--json").out)["smallest"]
    ran = run("cure", CAMPER, "--smallest", "--write", "small.yaml", "--json")
    result = json.loads(ran.out)
    assert (ran.code, result["written"], result["smallest"]) == (0, "small.yaml", None)
    assert result["cures"][0]["changes"] == told["changes"]
    assert "diameter: 65" in Path("small.yaml").read_text(encoding="utf-8") and run("check", "small.yaml").code == 0


def test_a_written_cure_that_has_more_cautions_than_was_told_is_refused() -> None:
    best = cures("railcar").best
    assert best is not None
    assert command._fault(best.trial, best.trial.layout) is None
    assert (
        command._fault(best.trial, layout_of("railcar"))
        == "with its numbers rounded it comes to more problems or cautions"
    )


def test_what_is_written_passes_check_keeps_every_other_line_and_names_variants_made_worse(
    run: Runner, here: Path
) -> None:
    ran = run("cure", CAMPER, "--write", "cured.yaml", "--json")
    assert (ran.code, json.loads(ran.out)["written"]) == (0, "cured.yaml")
    assert run("check", "cured.yaml").code == 0
    old, new = (Path(path).read_text(encoding="utf-8").splitlines() for path in (CAMPER, "cured.yaml"))
    gone = [line[2:] for line in difflib.ndiff(old, new) if line.startswith("- ")]
    assert [line for line in gone if not line.startswith("route:")] == []
    assert "Changed by `beltplan cure` from camper.yaml" in new[0]
    # The file's own variant already has an idler where the cure puts another: the change makes it worse.
    assert run("check", "cured.yaml", "--variant", "with idler").code == 1
    judged = json.loads(run("check", "cured.yaml", "--variant", "with idler", "--json").out)
    after = sum(finding["severity"] == "problem" for finding in judged["findings"])
    worse = [{"variant": "with idler", "problems_before": 0, "problems_after": after}]
    assert after and json.loads(ran.out)["made_worse"] == worse
    told = " ".join(run("cure", CAMPER, "--write", "again.yaml").out.split())
    assert "BUT the change goes into these layouts of the file too" in told


@pytest.mark.parametrize("found", [lambda: cures("camper"), movable_railcar], ids=["camper", "railcar"])
def test_every_cure_listed_is_judged_again_by_check_on_a_written_file(run: Runner, here: Path, found: object) -> None:
    looked = found() if callable(found) else None
    assert looked is not None and looked.listed
    source = CAMPER if looked is cures("camper") else here / "railcar.yaml"
    if source is not CAMPER:
        text = RAILCAR.read_text(encoding="utf-8").replace("    min_rpm: 1800 ", "    min_rpm: 1800  ")
        text = text.replace("at: [-238, 232]  ", "movable_mm: 40\n    at: [-238, 232]  ")
        source.write_text(text + "limits: {min_wrap_deg: {compressor: 132}}\n", encoding="utf-8")
        assert run("check", source).code == 1
    file = read_layout(str(source))
    for number, remedy in enumerate(looked.listed):
        path = f"cure_{number}.yaml"
        write_rewritten(path, file, remedy.trial.layout, ("test",), False, lambda layout: None)
        judged = json.loads(run("check", path, "--json").out)
        assert {finding["severity"] for finding in judged["findings"]} <= {"caution", "note"}
        cautions = sum(finding["severity"] == "caution" for finding in judged["findings"])
        assert cautions == remedy.plan.count("caution")


@for_each([], ["--force"])
def test_the_layout_itself_is_refused_once_and_no_force_is_offered(run: Runner, here: Path, more: list[str]) -> None:
    Path("own.yaml").write_bytes(Path(CAMPER).read_bytes())
    ran = run("cure", "own.yaml", "--write", "own.yaml", *more)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == "--write: got 'own.yaml'; allowed: another file than the layout's own\n"


def test_an_existing_file_is_kept_without_force(run: Runner, here: Path) -> None:
    Path("mine.yaml").write_text("precious", encoding="utf-8")
    ran = run("cure", CAMPER, "--write", "mine.yaml")
    assert (ran.code, ran.out) == (2, "")
    assert "--write: got 'mine.yaml', which exists already; allowed: a name that is not taken, or --force" in ran.err
    assert Path("mine.yaml").read_text(encoding="utf-8") == "precious"
    assert run("cure", CAMPER, "--write", "mine.yaml", "--force").code == 0
    assert run("check", "mine.yaml").code == 0


def test_a_variant_is_cured_in_its_place(run: Runner, here: Path) -> None:
    boat = ROOT / "layouts" / "workboat.yaml"
    ran = run("cure", boat, "--variant", "sides swapped", "--write", "boat.yaml")
    assert (ran.code, ran.err) == (0, "") and "(variant: sides swapped)" in ran.out
    assert run("check", "boat.yaml", "--variant", "sides swapped").code == 0
    told = " ".join(ran.out.split())
    assert '`beltplan check boat.yaml --variant "sides swapped"` judges the change' in told
    added = r"#   - add a smooth idler of [\d /]+ in \([\d.]+ mm\) on"
    assert re.search(added, Path("boat.yaml").read_text(encoding="utf-8")), "a file in inches"
    assert run("check", "boat.yaml").out == run("check", boat).out, "the file as it stands is not touched"


def test_an_anchor_in_the_way_is_told_with_what_to_do_by_hand(run: Runner, here: Path) -> None:
    text = CAMPER.read_text(encoding="utf-8").split("variants:")[0]
    head, order = text.split("route: ")
    order, rest = order.split("\n", 1)
    Path("anchored.yaml").write_text(f"variants: {{same: {{route: &way {order}}}}}\n{head}route: *way\n{rest}")
    ran = run("cure", "anchored.yaml", "--write", "cured.yaml")
    assert (ran.code, ran.out) == (2, "")
    assert "cannot be edited in place" in ran.err and "make the change by hand: add a smooth idler of" in ran.err
    assert [path.name for path in here.iterdir()] == ["anchored.yaml"]


@for_each(
    (("--write", "."), "--write: got '.', a folder; allowed: the name of a file"),
    (("--write", "c.png", "--picture", "c.png"), "allowed: another file than that of --picture"),
    (("--force",), "--force: got no --write beside it"),
)
def test_bad_options(run: Runner, here: Path, words: tuple[str, ...], told: str) -> None:
    ran = run("cure", CAMPER, *words)
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert told in ran.err and "Traceback" not in ran.err


def test_a_named_belt_that_is_too_short_is_cured_by_another(run: Runner, here: Path) -> None:
    Path("layout.yaml").write_text(PROBLEM, encoding="utf-8")
    ran = run("cure", "layout.yaml", "--write", "cured.yaml")
    assert ran.code == 0 and "DO       take a 6PK" in ran.out
    assert run("check", "cured.yaml").code == 0
    assert "belt: 6PK800" not in Path("cured.yaml").read_text(encoding="utf-8")


def test_notes_name_the_source_in_plain_ascii(tmp_path: Path) -> None:
    best = cures("camper").best
    assert best is not None
    path = tmp_path / "w\u00f6rk.yaml"
    path.write_bytes(CAMPER.read_bytes())
    notes = notes_of(read_layout(str(path)), "Changed", [change.words for change in best.trial.changes])
    assert "from w\\xf6rk.yaml" in notes[0] and all(note.isascii() for note in notes)


def test_a_link_stays_a_link_and_what_is_no_file_is_left_alone(run: Runner, here: Path) -> None:
    camper = str(ROOT / "layouts" / "camper.yaml")
    target = here / "target.yaml"
    target.write_text("title: old\n", encoding="utf-8")
    target.chmod(0o600)
    (here / "link.yaml").symlink_to(target)
    assert run("cure", camper, "--write", "link.yaml", "--force").code == 0
    assert (here / "link.yaml").is_symlink() and "added_idler" in target.read_text(encoding="utf-8")
    assert target.stat().st_mode & 0o777 == 0o600
    os.mkfifo(here / "pipe.yaml")
    refused = run("cure", camper, "--write", "pipe.yaml", "--force")
    assert (refused.code, refused.out) == (2, "") and "no ordinary file" in refused.err
    assert (here / "pipe.yaml").is_fifo()
