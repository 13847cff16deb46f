"""Breaks layouts in every way that a seeded generator can think of, and watches how the command takes it.

    python tests/fuzz/mutate.py --count 2000 --seed 1

Exit status 1 where anything but a proper answer came back: an exception, a warning, a NaN in the JSON, words on
standard output beside exit status 2, silence on standard error beside it, a picture half written.
"""

from __future__ import annotations

import argparse
import importlib.util
import random
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PICTURE_SHARE = 0.03


@dataclass(frozen=True, slots=True)
class Outcome:
    """One case: its number, its file, what was asked, the exit status, what was wrong, and how long it took."""

    number: int
    text: bytes
    arguments: tuple[str, ...]
    code: int | None
    wrong: tuple[str, ...]
    seconds: float


def seeds() -> list[bytes]:
    """The layouts that are broken: those of the project, and the manual's own example."""
    from tests.shipped import SHIPPED_LAYOUTS

    files = [*SHIPPED_LAYOUTS, ROOT / "tests" / "report" / "example.yaml"]
    return [file.read_bytes() for file in files]


def outcome_of(number: int, seed: int, sources: list[bytes], folder: Path) -> Outcome:
    """Make one case and run it. The same number and seed give the same case."""
    from tests.fuzz.borders import bordering
    from tests.fuzz.extremes import extreme
    from tests.fuzz.mutations import mutated, nudged
    from tests.fuzz.verdict import judged

    rng = random.Random(f"{seed}-{number}")
    make = rng.choices((None, nudged, bordering, mutated), (4, 3, 3, 4))[0]
    source = rng.choice(sources)
    text = extreme(rng) if make is None else make(rng, source)
    file = folder / "case.yaml"
    file.write_bytes(text)
    picture = _picture(rng, folder / f"pictures {number}")
    arguments = ["check", str(file), *_options(rng), *(() if picture is None else ("--picture", str(picture)))]
    before = time.perf_counter()
    code, wrong = judged(arguments, picture)
    return Outcome(number, text, tuple(arguments), code, tuple(wrong), time.perf_counter() - before)


def _options(rng: random.Random) -> list[str]:
    variant = rng.choice(("high mount", "none such", ""))
    return (["--json"] if rng.random() < 0.6 else []) + (["--variant", variant] if rng.random() < 0.1 else [])


def _picture(rng: random.Random, folder: Path) -> Path | None:
    drawing = importlib.util.find_spec("beltplan.picture.routing") is not None
    if not (rng.random() < PICTURE_SHARE and drawing):
        return None
    folder.mkdir()
    return folder / f"routing{rng.choice(('.png', '.svg', '.pdf'))}"


def run(count: int, seed: int, keep: Path | None = None) -> list[Outcome]:
    """Run many cases. keep: a folder for the files of those that went wrong."""
    sources = seeds()
    with tempfile.TemporaryDirectory() as folder:
        outcomes = [outcome_of(number, seed, sources, Path(folder)) for number in range(count)]
    if keep is not None:
        keep.mkdir(parents=True, exist_ok=True)
        for outcome in outcomes:
            if outcome.wrong:
                (keep / f"{seed}-{outcome.number}.yaml").write_bytes(outcome.text)
    return outcomes


def main() -> int:
    """Run the cases that the command line asks for, and report."""
    parser = argparse.ArgumentParser(description="Break layouts and watch how beltplan takes it.")
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="folder for the files of cases that went wrong")
    chosen = parser.parse_args()
    outcomes = run(chosen.count, chosen.seed, chosen.keep)
    bad = [outcome for outcome in outcomes if outcome.wrong]
    for outcome in bad:
        print(f"case {outcome.number}: {' '.join(outcome.arguments)}\n" + "\n".join(outcome.wrong))
    slowest = max(outcomes, key=lambda outcome: outcome.seconds)
    whole = sum(outcome.seconds for outcome in outcomes)
    statuses = dict(Counter(outcome.code for outcome in outcomes))
    print(f"{len(outcomes)} cases, {len(bad)} wrong; exit statuses and how often: {statuses}")
    print(f"{whole:.1f} s in all, longest {slowest.seconds:.2f} s (case {slowest.number})")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    sys.exit(main())
