"""The stored answers: one line of JSON a run, in the order of their names, packed with xz."""

import json
import lzma
from collections.abc import Mapping
from pathlib import Path

STORED = Path(__file__).parent / "answers.jsonl.xz"
PRESET = 9 | lzma.PRESET_EXTREME

Answers = dict[str, str]
"""What came of a run, by its command line."""


def write(answers: Mapping[str, str], path: Path = STORED) -> None:
    """Store answers; the same answers give the same bytes."""
    lines = (json.dumps([name, answers[name]], ensure_ascii=False) + "\n" for name in sorted(answers))
    path.write_bytes(lzma.compress("".join(lines).encode("utf-8"), preset=PRESET))


def read(path: Path = STORED) -> Answers:
    """Stored answers."""
    text = lzma.decompress(path.read_bytes()).decode("utf-8")
    return dict(json.loads(line) for line in text.split("\n") if line)
