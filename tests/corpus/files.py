"""The files that the runs read, laid out in one folder: shipped ones, cases, invented drives, damaged files."""

import random
import shutil
from pathlib import Path

from tests.corpus.invented import ring
from tests.fuzz.extremes import extreme
from tests.fuzz.mutations import mutated, nudged

ROOT = Path(__file__).parents[2]
LAYOUTS, CASES = ROOT / "layouts", ROOT / "tests" / "cases"

SOURCES = ("camper", "orchard_sprayer", "railcar", "too_tight", "workboat")
"""What is damaged."""
RINGS, EXTREMES, NUDGED, DAMAGED, DAMAGED_MEASUREMENTS = 40, 20, 15, 35, 12


def made() -> dict[str, bytes]:
    """Every file that a seed makes, by name."""
    rings = {f"ring_{n:02}": ring(n) for n in range(RINGS)}
    extremes = {f"extreme_{n:02}": extreme(random.Random(f"extreme {n}")) for n in range(EXTREMES)}
    nudges = {f"nudged_{n:02}": nudged(random.Random(f"nudged {n}"), _source(n)) for n in range(NUDGED)}
    damaged = {f"damaged_{n:02}": mutated(random.Random(f"damaged {n}"), _source(n)) for n in range(DAMAGED)}
    measured = (LAYOUTS / "buggy_measured.yaml").read_bytes()
    measurements = {
        f"measured_{n:02}": mutated(random.Random(f"measured {n}"), measured) for n in range(DAMAGED_MEASUREMENTS)
    }
    return {**rings, **extremes, **nudges, **damaged, **measurements}


def _source(number: int) -> bytes:
    return (LAYOUTS / f"{SOURCES[number % len(SOURCES)]}.yaml").read_bytes()


def lay_out(folder: Path) -> None:
    """Put every file where the runs expect it: under `layouts`, `cases` and `made`."""
    shutil.copytree(LAYOUTS, folder / "layouts")
    shutil.copytree(CASES, folder / "cases")
    (folder / "made").mkdir()
    for name, text in made().items():
        (folder / "made" / f"{name}.yaml").write_bytes(text)
