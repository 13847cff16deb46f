"""Breaks layouts in every way that a seeded generator can think of, and watches how the command takes it.

    python -m tests.fuzz --count 10000 --seed 1

Layouts, measurements, drawings of obstacles, options and line ends: each case breaks some of them.

Exit status 1 where anything but a proper answer came back: an exception, a warning, a NaN in the JSON, words on
standard output beside exit status 2, silence on standard error beside it, a picture half written.
"""

import argparse
import importlib.util
import random
import resource
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from tests.layoutfile.samples import PLAIN
from tests.outlines.test_damage import csv, damaged, dxf, svg

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


def measured_seeds() -> list[bytes]:
    """The measurements that are broken."""
    return [file.read_bytes() for file in sorted((ROOT / "layouts").glob("*_measured.yaml"))]


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
    command = rng.choices(("check", "measure", "drawing", *WORDS), (20, 2, 4, 2, 2, 2, 2))[0]
    if command == "measure":
        text = rng.choice((nudged, mutated))(rng, rng.choice(measured_seeds()))
    elif command == "drawing":
        text = PLAIN.encode() + b"obstacles: {block: {file: %s, units: mm}}\n" % _drawing(rng, folder).encode()
    else:
        text = extreme(rng) if make is None else make(rng, rng.choice(sources))
    file = folder / "case.yaml"
    file.write_bytes(_with_line_ends(rng, text))
    picture = _picture(rng, folder / f"pictures {number}") if command == "check" else None
    more = [word for words in WORDS.get(command, ()) for word in _odd(rng, words, folder)]
    arguments = [command.replace("drawing", "check"), str(file), *(more or _options(rng, command))]
    arguments += [] if picture is None else ["--picture", str(picture)]
    before = time.perf_counter()
    code, wrong = judged(arguments, picture)
    return Outcome(number, text, tuple(arguments), code, tuple(wrong), time.perf_counter() - before)


ODD = (
    "", "nan", "-1", "1e400", "0", "=1", "crank", "皮带", "x" * 300, "a.svg", "gone/a.png", ".", "1,2,3,4", "A4", "--",
)  # fmt: skip
WORDS = {
    "place": (("--pulley", "idler"), ("--step", "60"), ("--within", "0,300,0,300")),
    "export": (("--out", "a.dxf"),),
    "template": (("--out", "a.pdf"), ("--paper", "A3")),
    "new": (("--measurements",),),
}
"""Commands whose options are broken, each with what it may be asked for."""


def _odd(rng: random.Random, words: tuple[str, ...], folder: Path) -> list[str]:
    """An option as it is, left out, or with a word that hardly fits; files lie in the folder."""
    way = rng.random()
    value = words[1:] if way < 0.5 else (rng.choice(ODD),)[: len(words) - 1]
    inside = [str(folder / word) if word.startswith("a.") else word for word in value]
    return [] if way < 0.2 and words[0] != "--step" else [words[0], *inside]


def _drawing(rng: random.Random, folder: Path) -> str:
    name = rng.choice((csv, dxf, svg))(folder)
    (folder / name).write_bytes(damaged(rng, (folder / name).read_bytes()))
    return name


def _with_line_ends(rng: random.Random, text: bytes) -> bytes:
    ends = rng.choices((b"\n", b"\r\n", b"\r", b"\n\r"), (17, 1, 1, 1))[0]
    return text.replace(b"\n", ends)


def _options(rng: random.Random, command: str) -> list[str]:
    if command == "measure":
        return ["--json"] if rng.random() < 0.6 else []
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
    print(f"seed {chosen.seed}; most memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB")
    statuses = dict(Counter(outcome.code for outcome in outcomes))
    print(f"{len(outcomes)} cases, {len(bad)} wrong; exit statuses and how often: {statuses}")
    print(f"{whole:.1f} s in all, longest {slowest.seconds:.2f} s (case {slowest.number})")
    return 1 if bad else 0
