"""Readings that hardly anything checks, over a drive in inches whose true places are known.

Reference: places of an invented drive, distances by Pythagoras rounded to a sixteenth of an inch, as a tape reads them.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

from tests.cli.running import Runner
from tests.for_each import for_each

PLACES = {
    "crank": (0.0, 0.0),
    "hydraulic": (-10.45, 0.45),
    "alternator": (-8.9, 12.35),
    "water_pump": (0.3, 8.55),
    "compressor": (9.15, 12.1),
    "idler": (5.1, 4.1),
    "slide.from": (-5.65, -3.6),
    "slide.to": (-5.22, -1.14),
}
"""Inches, x right, y up."""
RIMS = {"crank": 6.5, "hydraulic": 5.75, "alternator": 2.45, "water_pump": 5.1, "compressor": 4.95, "idler": 3.0}
PAIRS = (
    *("crank - hydraulic", "crank - alternator", "crank - water_pump", "crank - compressor", "crank - idler"),
    *("hydraulic - alternator", "hydraulic - water_pump", "hydraulic - compressor", "alternator - water_pump"),
    *("alternator - compressor", "water_pump - compressor", "water_pump - idler", "compressor - idler"),
    *("crank - slide.from", "crank - slide.to", "hydraulic - slide.from", "hydraulic - slide.to"),
    "slide.from - slide.to",
)
GAP = "water_pump - idler"


def _drive(folder: Path, **wrong: float) -> Path:
    """The readings with some of them off by so many inches, by name with _ for its blanks."""
    lines = ["units: in", "accuracy: {distance_mm: 1/16 in, angle_deg: 0.5}", f"diameters: {{{_mapping(RIMS)}}}"]
    lines += ["distances:"]
    for pair in PAIRS:
        first, second = pair.split(" - ")
        less = (RIMS[first] + RIMS[second]) / 2.0 if pair == GAP else 0.0
        apart = round(16.0 * (math.dist(PLACES[first], PLACES[second]) - less)) / 16.0 + wrong.get(pair, 0.0)
        lines += [f"  {pair}: {f'{{value: {apart}, gap: true}}' if less else apart}"]
    angles = {
        f"{first} - {second}": round(math.degrees(math.atan2(*(_step(first, second)[::-1]))), 1)
        for first, second in (("crank", "alternator"), ("hydraulic", "compressor"))
    }
    lines += [f"angles: {{{_mapping(angles)}}}", "sides: {alternator: above left, slide.from: below}"]
    path = folder / "drive.yaml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def _mapping(of: dict[str, float]) -> str:
    return ", ".join(f"{key}: {value}" for key, value in of.items())


def _step(first: str, second: str) -> tuple[float, float]:
    (x, y), (u, v) = PLACES[first], PLACES[second]
    return u - x, v - y


def _told(run: Runner, folder: Path, **wrong: float) -> tuple[int, str]:
    told = run("measure", _drive(folder, **wrong))
    return told.code, re.sub(r"\n {9}", " ", told.out)


def test_no_mirror_solution_in_which_rims_overlap_explains_a_misreading(run: Runner, tmp_path: Path) -> None:
    """On the other side of crank - compressor the idler would lie in the water pump: it is one inch too much."""
    code, words = _told(run, tmp_path, **{GAP: 1.0})
    own = next(line for line in words.splitlines() if line.startswith(("MISREAD", "SUSPECT")))
    assert code == 1 and GAP in own and ", a whole inch less" in own
    assert "MIRROR" not in words and "taken from centre to centre" not in words
    (x, y) = re.findall(r"^idler +(\S+) +(\S+)", words, re.MULTILINE)[0]
    assert math.dist((float(x), float(y)), PLACES["idler"]) < 1.0


def test_a_place_that_hangs_on_what_nothing_checks_is_told_first(run: Runner, tmp_path: Path) -> None:
    """One inch too little in the gap moves the idler by nearly one inch, and fits: so much FOUND and NEXT say."""
    _, words = _told(run, tmp_path, **{GAP: -1.0})
    found = next(line for line in words.splitlines() if line.startswith("FOUND"))
    assert f"Careful: if {GAP} (gap) is misread, nothing shows it, and idler is then misplaced" in found
    next_ = next(line for line in words.splitlines() if line.startswith("NEXT"))
    assert "idler" in next_.partition(":")[0] and f"checks {GAP} (gap)" in next_


@for_each({}, {"hydraulic - slide.from": 0.75})
def test_all_agree_never_stands_over_what_is_off_by_more_than_the_table_calls_rare(
    run: Runner, tmp_path: Path, wrong: dict[str, float]
) -> None:
    """The readings as they are agree."""
    code, words = _told(run, tmp_path, **wrong)
    sigmas = [float(each) for each in re.findall(r" in +(\d+\.\d) +(?:\d|never)", words.partition("READINGS")[2])]
    rare = float(re.findall(r"sigmas: over (\S+) is rare", words)[0])
    far, leads = max(sigmas) > rare, {line.split(" ")[0]: line for line in words.splitlines() if line}
    assert far is bool(wrong) and code == int(far)
    assert ("Nothing stands against it" in words) is not far and ("all agree" in words) is not far
    for name in wrong:
        assert "hardly chance" in leads["CONFLICT"]
        assert f"{name} (line " in leads["NEXT"] or f"\nSUSPECT  {name}, read " in words
