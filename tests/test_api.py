"""What `import beltplan` offers: the examples run, and every answer is that of the commands."""

import dataclasses
import doctest
import json
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import beltplan
from beltplan import api
from beltplan.cli.main import main
from tests.for_each import for_each

TOP = Path(__file__).resolve().parent.parent
RAILCAR, CAMPER = (str(TOP / "layouts" / f"{name}.yaml") for name in ("railcar", "camper"))
NO_ADJUSTER = str(TOP / "tests" / "cases" / "no_adjuster.yaml")


@pytest.fixture
def there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the shipped layouts, to work in."""
    shutil.copytree(TOP / "layouts", tmp_path / "layouts")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("module", [beltplan, api])
def test_the_examples_in_the_docstrings(there: Path, module: object) -> None:
    found = doctest.testmod(module)  # type: ignore[arg-type]
    assert found.attempted >= 3 and found.failed == 0


def test_the_example_in_the_readme(there: Path) -> None:
    (block,) = re.findall(r"```python\n(.*?)```", (TOP / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    example = doctest.DocTestParser().get_doctest(block, {}, "README", "README.md", 0)
    assert doctest.DocTestRunner().run(example).failed == 0
    assert (there / "railcar.svg").stat().st_size > 1000


@pytest.mark.parametrize(
    ("path", "variant"), [(RAILCAR, None), (CAMPER, None), (CAMPER, "with idler"), (NO_ADJUSTER, None)]
)
def test_the_plan_is_the_answer_of_check(path: str, variant: str | None, capsys: pytest.CaptureFixture[str]) -> None:
    plan = beltplan.plan(beltplan.read(path, variant))
    more = [] if variant is None else ["--variant", variant]
    code = main(["check", path, "--json", *more])
    assert plan.to_dict() == json.loads(capsys.readouterr().out)
    assert code == (1 if plan.count("problem") else 0)
    main(["check", path, *more])
    assert plan.text() + "\n" == capsys.readouterr().out


def test_the_picture_in_a_notebook_is_that_of_the_command(tmp_path: Path) -> None:
    plan = beltplan.plan(beltplan.read(Path(RAILCAR)))
    main(["check", RAILCAR, "--picture", str(tmp_path / "command.svg"), "--slip-picture", str(tmp_path / "slip.svg")])
    plan.save_picture(tmp_path / "saved.svg")
    plan.save_slip_picture(tmp_path / "saved_slip.svg")
    # Only the command knows the file's name, which stands at the foot.
    command = (
        (tmp_path / "command.svg")
        .read_text(encoding="utf-8")
        .replace("railcar.yaml of 2001-09-09; beltplan", "beltplan")
    )
    assert plan._repr_svg_() == command == (tmp_path / "saved.svg").read_text(encoding="utf-8")
    slip = (
        (tmp_path / "slip.svg").read_text(encoding="utf-8").replace("railcar.yaml of 2001-09-09; beltplan", "beltplan")
    )
    assert slip == (tmp_path / "saved_slip.svg").read_text(encoding="utf-8")
    with pytest.raises(ValueError, match=r"\.png, \.svg, \.pdf"):
        plan.save_picture(tmp_path / "a.bmp")


def test_what_cannot_be_planned_is_raised(tmp_path: Path) -> None:
    """Two faults in one file, both told; two pulleys in one place have no belt path."""
    (tmp_path / "bad.yaml").write_text("belt: 6QQ\nroute: [a, b]\n", encoding="utf-8")
    with pytest.raises(beltplan.LayoutFaults) as refused:
        beltplan.read(tmp_path / "bad.yaml")
    assert len(refused.value.faults) >= 2
    layout = beltplan.read(RAILCAR)
    overlapping = replace(layout.pulleys["alternator"], at_mm=layout.driver.at_mm)
    with pytest.raises(beltplan.NoBeltPath):
        beltplan.plan(replace(layout, pulleys={**layout.pulleys, "alternator": overlapping}))
    slack = beltplan.plan(beltplan.read(NO_ADJUSTER))
    with pytest.raises(ValueError, match="slip is not judged: "):
        slack.save_slip_picture(tmp_path / "slip.svg")


def test_values_are_frozen_and_carry_the_caution() -> None:
    plan = beltplan.plan(beltplan.read(RAILCAR))
    with pytest.raises(dataclasses.FrozenInstanceError):
        plan.findings = ()  # type: ignore[misc]
    assert "never an approval" in plan.caution and plan.caution == plan.to_dict()["caution"]


def test_many_places_are_each_what_the_plan_is_there() -> None:
    """Reference: `plan` at each place, one after the other."""
    layout = beltplan.read(RAILCAR)
    x, y = np.meshgrid([205.0, 243.0, 262.0], [299.0, 321.0])
    places = np.stack((x, y), axis=-1)
    found = beltplan.plan_many(layout, "alternator", places)
    assert found.verdict.shape == found.belt.shape == found.margin.shape == (2, 3)
    for row, column in np.ndindex(2, 3):
        moved = replace(layout.pulleys["alternator"], at_mm=tuple(places[row, column].tolist()))
        one = beltplan.plan(replace(layout, pulleys={**layout.pulleys, "alternator": moved}))
        assert found.belt[row, column] == one.route.designation
        assert found.position[row, column] == pytest.approx(one.route.position, abs=1e-6)
        for on in one.pulleys:
            assert found.wrap_deg[on.name][row, column] == pytest.approx(on.wrap_deg, abs=1e-3)
        assert found.problem[row, column] == (one.count("problem") > 0)
    assert found.problem.any() and not found.problem.all() and "never an approval" in found.caution


def test_a_place_without_a_path_and_no_place_at_all() -> None:
    layout = beltplan.read(RAILCAR)
    found = beltplan.plan_many(layout, "alternator", [0.0, 0.0])
    assert (found.verdict.item(), found.belt.item(), bool(np.all(found.problem))) == ("no path", "", True)
    assert np.isnan(found.margin)
    assert beltplan.plan_many(layout, "alternator", np.zeros((0, 2))).verdict.shape == (0,)


@for_each(
    ("tensioner", [[0.0, 0.0]], "pulley: got 'tensioner'; allowed: .*alternator"),
    ("nobody", [[0.0, 0.0]], "pulley: got 'nobody'"),
    ("alternator", [[0.0, 0.0, 0.0]], r"shape \(1, 3\)"),
    ("alternator", 1.0, r"shape \(\)"),
    ("alternator", [[0.0, np.nan]], "finite"),
)
def test_places_that_make_no_sense_are_refused(pulley: str, places: list[list[float]], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        beltplan.plan_many(beltplan.read(RAILCAR), pulley, places)


def test_importing_it_loads_nothing_heavy() -> None:
    heavy = "{'numpy', 'yaml', 'shapely', 'matplotlib', 'beltplan.api'}"
    code = f"import sys, beltplan; sys.exit(len({heavy} & set(sys.modules)) or len(dir(beltplan)) < 8)"
    assert subprocess.run([sys.executable, "-c", code], cwd=TOP, check=False).returncode == 0


def test_every_name_is_there_and_others_are_not() -> None:
    assert all(getattr(beltplan, name) is getattr(api, name) for name in beltplan.__all__)
    assert set(beltplan.__all__) <= set(dir(beltplan)) and sorted(api.__all__) == sorted(beltplan.__all__)
    with pytest.raises(AttributeError, match="nothing_of_the_kind"):
        _ = beltplan.nothing_of_the_kind  # type: ignore[attr-defined]
