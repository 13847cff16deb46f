"""The top of the file: one wrong thing in a sound file gives one fault, at its line and key, in words that help.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from __future__ import annotations

from pathlib import Path

from beltplan.drive.layout import Block, CrankSwing
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, RAILCAR, faults_of, written

WHOLE = [
    ("belt: 6PK", "", 2, "belt", "nothing"),
    ("belt: 6PK", "belt: 6QK", 1, "belt", "not a belt designation"),
    ("belt: 6PK", "belt: A1400", 1, "belt", "inside, datum or outside"),
    ("belt: 6PK", "belt: 99PK", 1, "belt", "a belt has 1 to 30"),
    ("belt: 6PK", "belt: [6PK]", 1, "belt", "a list"),
    ("belt: 6PK", "belt: 6PJ", 1, "belt.back_over_rim_mm", "nothing for profile PJ"),
    ("belt: 6PK", "belt: 6PK\nbelts: 3", 2, "belts", "did you mean belt?"),
    ("belt: 6PK", "belt: 6PK\nunits: cm", 2, "units", "'cm'"),
    ("belt: 6PK", "belt: 6PK\nrotation: left", 2, "rotation", "'left'"),
    ("belt: 6PK", "belt: 6PK\ntitle: ''", 2, "title", "''"),
    ("belt: 6PK", "belt: 6PK\ntitle: |\n  a\n  b", 2, "title", "'a\\nb\\n'"),
    ("belt: 6PK", "belt: 6PK\ntitle: [a]", 2, "title", "a list"),
    ("belt: 6PK", "belt: 6PK\nengine: 5", 2, "engine", "'5'"),
    ("belt: 6PK", "belt: 6PK\nengine: {idle_rpm: 0}", 2, "engine.idle_rpm", "0"),
    ("belt: 6PK", "belt: 6PK\nengine: {max_rpm: 1000001}", 2, "engine.max_rpm", "1000001"),
    ("belt: 6PK", "belt: 6PK\nengine: {idle_rpm: 900, max_rpm: 800}", 2, "engine.max_rpm", "800, under idle_rpm"),
    ("belt: 6PK", "belt: 6PK\nengine: {cylinders: 2.5}", 2, "engine.cylinders", "'2.5'"),
    ("belt: 6PK", "belt: 6PK\nengine: {rev_up_rpm_per_s: 0}", 2, "engine.rev_up_rpm_per_s", "0"),
    ("belt: 6PK", "belt: 6PK\nengine: {rev_up_rpm_per_s: .inf}", 2, "engine.rev_up_rpm_per_s", "'.inf'"),
    ("belt: 6PK", "belt: 6PK\nengine: {swing_deg: 40}", 2, "engine.swing_deg", "40"),
    ("belt: 6PK", "belt: 6PK\nengine: {swing_deg: [1]}", 2, "engine.swing_deg", "a list"),
    ("belt: 6PK", "belt: 6PK\nengine: {swing_deg: {rpm: [900, 800], deg: [1, 1]}}", 2, "engine.swing_deg.rpm", "800"),
    (
        "belt: 6PK",
        "belt: 6PK\nengine: {swing_deg: {rpm: [800, 900], deg: [1]}}",
        2,
        "engine.swing_deg.deg",
        "a list of 1",
    ),
    ("belt: 6PK", "belt: 6PK\nengine: {rev_up_rpm: 500}", 2, "engine.rev_up_rpm", "write rev_up_rpm_per_s"),
    ("belt: 6PK", "belt: 6PK\nblock: {material: aluminum}", 2, "block.material", "'aluminum'"),
    ("belt: 6PK", "belt: 6PK\nblock: {rise_K: 80}", 2, "block.material", "nothing"),
    ("belt: 6PK", "belt: 6PK\nblock: {material: iron, rise_K: hot}", 2, "block.rise_K", "'hot'"),
    ("belt: 6PK", "belt: 6PK\nblock: {material: iron, rise_K: 501}", 2, "block.rise_K", "501"),
    ("belt: 6PK", "belt: 6PK\nblock: {material: iron, rise: 80}", 2, "block.rise", "an unknown key"),
    ("belt: 6PK", "belt: 6PK\nblock: iron", 2, "block", "'iron'"),
    ("pulleys:", "pullies:", 2, "pullies", "did you mean pulleys?"),
]


@for_each(*WHOLE)
def test_one_wrong_thing_one_fault(tmp_path: Path, old: str, new: str, line: int, key: str, words: str) -> None:
    assert old in PLAIN
    (fault,) = faults_of(tmp_path, PLAIN.replace(old, new, 1))
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got
    assert fault.allowed


def test_a_sound_file_is_read(tmp_path: Path) -> None:
    assert read_layout(written(tmp_path, PLAIN)).layout.driver.name == "crank"
    assert read_layout(written(tmp_path, RAILCAR)).layout.adjusted is not None


def test_a_block_and_what_is_assumed_of_it(tmp_path: Path) -> None:
    """80 K, of a belt that is set cold: common practice, no source."""

    def read(block: str) -> Block | None:
        return read_layout(written(tmp_path, f"{PLAIN}block: {block}\n")).layout.block

    assert read("{material: iron, rise_K: -20}") == Block("iron", -20.0)
    assert read("{material: aluminium}") == Block("aluminium", 80.0, rise_assumed=True)


@for_each(
    ("1.2", CrankSwing((1.2,))),
    ("{rpm: [700, 2600], deg: [1.0, 0.2]}", CrankSwing((1.0, 0.2), (700.0, 2600.0))),
    ("", None),
)
def test_swing_of_the_crank_is_a_number_or_a_table(tmp_path: Path, words: str, swing: CrankSwing | None) -> None:
    text = PLAIN.replace("belt: 6PK", f"belt: 6PK\nengine: {{swing_deg: {words}}}", 1)
    assert read_layout(written(tmp_path, text)).layout.engine.swing_deg == swing
