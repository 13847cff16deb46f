"""Duties: which loads act together, and each wrong thing as one fault.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from __future__ import annotations

from pathlib import Path

from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

LOADED = PLAIN.replace("diameter: 130", "diameter: 130, load: {torque_Nm: 5}").replace(
    "diameter: 76", "diameter: 76, load: {torque_Nm: 0.1}"
)


@for_each(
    ("", {}),
    ("duty: ", {}),
    ("duty: {}", {}),
    ("duty: {all on: [pump, idler], coasting: []}", {"all on": ("pump", "idler"), "coasting": ()}),
    ("duty: {all on: [idler], off: null}", {"all on": ("idler",)}),
    ("duty: {4: [pump]}", {"4": ("pump",)}),
)
def test_duties(tmp_path: Path, duty: str, expected: dict[str, tuple[str, ...]]) -> None:
    assert read_layout(written(tmp_path, f"{LOADED}{duty}\n")).layout.duties == expected


WRONG = [
    ("[pump]", "duty", "a list"),
    ("5", "duty", "'5'"),
    ("{a: pump}", "duty.a", "'pump'"),
    ("{a: {pump: true}}", "duty.a", "a mapping"),
    ("{a: [pomp]}", "duty.a.1", "did you mean pump?"),
    ("{a: [pump, pump]}", "duty.a.2", "'pump' a second time"),
    ("{a: [pump, crank]}", "duty.a.2", "'crank', a pulley without a load"),
    ("{a: [pump, tight]}", "duty.a.2", "'tight', a pulley without a load"),
    ("{a: [[pump]]}", "duty.a.1", "a list"),
    ("{a: [null]}", "duty.a.1", "nothing"),
    ("{a: [3]}", "duty.a.1", "'3'"),
    ('{"": [pump]}', "duty.", "the name ''"),
    ("{" + "d" * 41 + ": [pump]}", "duty." + "d" * 41, "the name"),
    ('{"a\\e[1m": [pump]}', "duty.a\\x1b[1m", "the name"),
    ("{a: [" + "pump, " * 65 + "]}", "duty.a", "a list of 65"),
    ("{" + ", ".join(f"d{n}: []" for n in range(33)) + "}", "duty", "33 names"),
]


@for_each(*WRONG)
def test_one_wrong_thing_one_fault(tmp_path: Path, duty: str, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, f"{LOADED}duty: {duty}\n")
    assert (fault.line, fault.key) == (13, key)
    assert words in fault.got
    assert fault.allowed


def test_those_there_are_stand_in_the_fault(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, LOADED + "duty: {a: [crank]}\n")
    assert fault.allowed == "pulleys with a load: pump, idler"
    (fault,) = faults_of(tmp_path, PLAIN + "duty: {a: [pump]}\n")
    assert fault.allowed == "no name, as no pulley has a `load`"


def test_each_on_its_line(tmp_path: Path) -> None:
    faults = faults_of(tmp_path, LOADED + "duty:\n  a:\n    - pump\n    - nobody\n  b: [crank]\n")
    assert [(fault.line, fault.key) for fault in faults] == [(16, "duty.a.2"), (17, "duty.b.1")]


def test_a_wrong_load_is_one_fault_and_not_a_missing_one(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, LOADED.replace("torque_Nm: 5", "torque_Nm: x") + "duty: {a: [pump]}\n")
    assert fault.key == "pulleys.pump.load.torque_Nm"
