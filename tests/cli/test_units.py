"""One rule of units: the file's own, or those asked for, on every screen and in every picture; JSON stays in mm."""

import re
from pathlib import Path

import pytest

from beltplan.picture.scene import Scene
from tests.cli.running import ROOT, Runner
from tests.for_each import mostly_long

pytestmark = pytest.mark.usefixtures("less_is_judged")
RAILCAR, CAMPER, BUGGY = (str(ROOT / "layouts" / f"{name}.yaml") for name in ("railcar", "camper", "buggy_measured"))
"""The last in inches."""
COMMANDS = {
    "check": ("check", RAILCAR, "--full", "--picture", "a.svg", "--slip-picture", "b.svg"),
    "route": ("route", RAILCAR, "--full", "--picture", "a.svg"),
    "place": ("place", RAILCAR, "--pulley", "alternator", "--step", "40", "--full", "--picture", "a.svg"),
    "compare": ("compare", RAILCAR, str(ROOT / "layouts" / "workboat.yaml"), "--full", "--picture", "a.svg"),
    "squeal": ("squeal", RAILCAR, "--full"),
    "cure": ("cure", CAMPER, "--full", "--picture", "a.svg", "--write", "cured.yaml"),
    "tolerance": ("tolerance", RAILCAR, "--draws", "300", "--full", "--picture", "a.svg"),
    "export": ("export", RAILCAR, "--out", "a.csv"),
    "fit": ("fit", RAILCAR),
    "page": ("page", RAILCAR, "--out", "a.html"),
    "measure": ("measure", BUGGY, "--full", "--picture", "a.svg", "--write", "found.yaml"),
}
_BESIDE = re.compile(r"\d mm \([^)]*\bin\b|\([\d., to]+ (?:in|mm)\)")
_OTHER = {"in": re.compile(r"\d mm\b"), "mm": re.compile(r"\.\d+ in\b(?! steady| the grooves)")}
_AS_READ = re.compile(r"READINGS .* sigmas:")
"""What a tape read stays as it was read."""


def bare(text: str, units: str) -> bool:
    """Whether a length stands in the other unit alone, without the one asked for beside it in brackets."""
    return _OTHER[units].search(_BESIDE.sub("", text)) is not None


OTHERS = [(command, "mm" if BUGGY in words else "in") for command, words in COMMANDS.items()]
OWN = [(command, "in" if units == "mm" else "mm") for command, units in OTHERS]


@pytest.mark.parametrize(("command", "units"), [*OTHERS, *mostly_long(OWN, list(COMMANDS).index("check"))])
def test_text_and_picture_are_in_the_units_asked_for(
    run: Runner, here: Path, drawn: list[Scene], command: str, units: str
) -> None:
    """Asked for the other units than the file's; of its own a few each time."""
    ran = run(*COMMANDS[command], "--units", units)
    assert ran.code in (0, 1) and ran.out and ran.err == ""
    told = _AS_READ.sub("", " ".join(ran.out.split())).split(". ")
    shown = [label.text for scene in drawn for label in scene.labels]
    assert any(f" {units}" in text for text in told) and bool(shown) is ("--picture" in COMMANDS[command])
    assert [text for text in [*told, *shown] if bare(text, units)] == []


@pytest.mark.usefixtures("drawn")
def test_the_option_is_no_change_of_the_layout(run: Runner, here: Path) -> None:
    """What is written reads back in the file's own units, and the box of a search is in them."""
    for command in ("cure", "measure"):
        run(*COMMANDS[command], "--units", "mm" if command == "measure" else "in")
    assert "units: mm" in (here / "cured.yaml").read_text(encoding="utf-8")
    assert "units: in" in (here / "found.yaml").read_text(encoding="utf-8")
    box = ("--pulley", "alternator", "--within", "-130,-110,400,420", "--json")
    assert run("place", RAILCAR, *box).out == run("place", RAILCAR, *box, "--units", "in").out


# Who measures in inches reads inches, pounds and foot-pounds: no number stands in mm, N or Nm alone.

WORKBOAT, KART, CARRIER = (
    str(ROOT / name) for name in ("layouts/workboat.yaml", "tests/cases/gokart.yaml", "tests/cases/carrier.yaml")
)
IN_INCHES = {
    **{f"{name} {Path(file).stem}": (name, file, *more)
       for name, *more in (("check", "--full"), ("fit",), ("squeal", "--full"), ("vibration", "--full"), ("compare",))
       for file in (WORKBOAT, KART, CARRIER)},
    "fit, pressed": ("fit", KART, "--press", "2"),
    "cure": ("cure", CARRIER, "--full"),
    "tolerance": ("tolerance", WORKBOAT, "--draws", "300", "--full"),
    "place": ("place", WORKBOAT, "--pulley", "alternator", "--step", "2", "--full"),
    "route": ("route", WORKBOAT, "--full"),
    "measure": ("measure", BUGGY, "--full"),
}  # fmt: skip
_NUMBER = r"[-+±]?\d[\d,]*(?:\.\d+)?"
_ALONE = re.compile(rf"{_NUMBER} (?:N(?!,? \(?[^(),]*\blbf\b)|Nm(?!,? \(?[^(),]*\bft-lb\b))(?![\w/])")
_MM = re.compile(rf"(?<!in \()(?<![\d.]){_NUMBER} mm\b(?! steps)( \([^)]* in\))?")
_BELT = re.compile(r"\b\d+P[A-Z]|\bpath\b|\blong\b|\blengths?\b|\btravel holds\b|\bthis drive takes\b")
"""A belt is bought by its length in mm, so that mm stand first there."""


def alone(text: str) -> list[str]:
    """What stands in mm, N or Nm without its partner: numbers in sentences, heads of columns."""
    told = " ".join(text.split())
    numbers = [found[0] for found in _ALONE.finditer(told)]
    numbers += [
        told[max(found.start() - 60, 0) : found.end()]
        for found in _MM.finditer(told)
        if found[1] is None or not _BELT.search(told, max(found.start() - 110, 0), found.start())
    ]
    for row in (re.split(r"  +", line.strip()) for line in text.splitlines()):
        for unit, partner in (("N", "lbf"), ("Nm", "ft-lb")):
            heads = [cell for cell in row if re.search(rf"^[^\d`]*(?<![\w`]){unit}$", cell)]
            numbers += [head for head in heads if f"{head.removesuffix(unit)}{partner}" not in told]
        numbers += [cell for cell in row if re.search(r"^[^\d]* mm$", cell)]
    return numbers


@pytest.mark.parametrize("command", list(IN_INCHES))
def test_in_a_file_in_inches_every_number_has_its_partner(run: Runner, here: Path, command: str) -> None:
    ran = run(*IN_INCHES[command])
    assert ran.code in (0, 1) and ran.err == ""
    assert alone(_AS_READ.sub("", ran.out)) == []


def test_a_number_alone_is_seen() -> None:
    assert alone("a pull of 98 N and 46 Nm") == ["98 N", "46 Nm"]
    assert alone("98 N (22 lbf), 46 Nm (34 ft-lb), 8PK2050 of 2050 mm (80.71 in), 1.30 in (33 mm)") == []
    assert len(alone("a pulley of 33 mm (1.30 in)")) == 1 and alone("span  least N  dia mm") == ["least N", "dia mm"]
