"""Damaged drawings, seeded: whatever happens to one, it is read or refused in words, and every number is finite."""

import random
from pathlib import Path

import ezdxf.math
import pytest

from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, written
from tests.layoutfile.test_damage import outcome
from tests.outlines.drawings import BLOCK, csv_of, dxf_of, new_dxf, svg_of

ROUNDS = 60
SEEDS = range(2)
ODD = b"0123456789.,;:-+eEmMzZaAcC()<>/&!\"'# \t\r\n\x00\xff"


def csv(folder: Path) -> str:
    return csv_of(folder, BLOCK)


def dxf(folder: Path) -> str:
    document = new_dxf("R2000")
    space = document.modelspace()
    space.add_lwpolyline([(0, 0, 0.3), (90, 0, 0), (90, 60, -0.2), (0, 60, 0)], format="xyb", close=True)
    space.add_circle((20, 20), 5)
    space.add_ellipse((50, 30), major_axis=(10, 3), ratio=0.5)
    space.add_spline().apply_construction_tool(ezdxf.math.BSpline([(10, 30), (20, 50), (40, 50), (30, 40), (10, 30)]))
    space.add_arc((60, 20), 5, 20, 300)
    name = dxf_of(folder, document)
    text = (folder / name).read_text(encoding="utf-8")
    # Without the tables, which are not read, most of the damage hits something.
    start = text.index("  0\nSECTION\n  2\nENTITIES")
    end = text.index("ENDSEC", start)
    (folder / name).write_text(text[start:end] + "ENDSEC\n  0\nEOF\n", encoding="utf-8")
    return name


def svg(folder: Path) -> str:
    inside = (
        '<g id="a" transform="rotate(10) matrix(1 0 .1 1 5 5)"><path d="M0 0h90v60q-9-9-20 0t-30 0A60 50 5 00 0 0z"/>'
    )
    return svg_of(
        folder, inside + '<circle r="5" cx="70" cy="30"/><rect x="50" y="9" width="9" height="8" rx="2"/></g>'
    )


def damaged(dice: random.Random, data: bytes) -> bytes:
    out = bytearray(data)
    for _ in range(dice.randint(1, 4)):
        at = dice.randrange(len(out) + 1)
        kind = dice.randrange(5)
        if kind == 0:
            out[at : at + 1] = bytes([dice.choice(ODD)])
        elif kind == 1:
            del out[at : at + dice.randint(1, 30)]
        elif kind == 2:
            out[at:at] = out[at : at + dice.randint(1, 60)]
        elif kind == 3:
            out[at:at] = dice.choice((b"1e300", b"-1e9", b"nan", b"inf", b"1e-320", b"9" * 40, b"\xe2\x88\x92"))
        else:
            out[at:at] = bytes(dice.randrange(256) for _ in range(3))
        out = out or bytearray(b"x")
    return bytes(out)


@pytest.mark.filterwarnings("error")
@for_each(*SEEDS)
@for_each(csv, dxf, svg)
def test_damaged_drawings(tmp_path: Path, seed: int, draw: object) -> None:
    assert callable(draw)
    name = draw(tmp_path)
    whole = (tmp_path / name).read_bytes()
    path = written(tmp_path, PLAIN + f"obstacles: {{block: {{file: {name}, units: mm}}}}\n")
    assert outcome(path), "undamaged, it is read"
    dice = random.Random(f"{name}-{seed}")
    read = 0
    for _ in range(ROUNDS):
        (tmp_path / name).write_bytes(damaged(dice, whole))
        read += outcome(path)
    assert read < ROUNDS, "some damage must be noticed"
