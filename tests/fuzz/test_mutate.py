"""A share of the fuzzing that fits a test run, and proof that it would notice."""

import random
import warnings
from pathlib import Path

import pytest

from tests.fuzz import verdict
from tests.fuzz.borders import bordering
from tests.fuzz.extremes import KINDS, extreme
from tests.fuzz.mutate import outcome_of, run, seeds
from tests.fuzz.mutations import mutated, nudged


@pytest.mark.parametrize(("count", "seed"), [(110, 20), pytest.param(190, 21, marks=pytest.mark.long)])
def test_nothing_but_proper_answers(count: int, seed: int) -> None:
    outcomes = run(count, seed=seed)
    assert [(o.number, o.arguments, o.wrong) for o in outcomes if o.wrong] == []
    assert max(o.seconds for o in outcomes) < 60.0, "a guard against a hang, not a benchmark"
    assert {o.code for o in outcomes} == {0, 1, 2}
    assert {o.arguments[0] for o in outcomes} == {"check", "measure", "place", "export", "template", "new"}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_every_kind_of_extreme_layout(kind: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.fuzz.extremes.KINDS", (kind,))
    for number in range(4):
        file = tmp_path / "case.yaml"
        file.write_bytes(extreme(random.Random(number)))
        code, wrong = verdict.judged(["check", str(file), "--json"])
        assert (wrong, code in (0, 1, 2)) == ([], True), file.read_text()


@pytest.mark.parametrize("file", sorted((Path(__file__).parent / "found").glob("*.yaml")), ids=lambda file: file.stem)
@pytest.mark.parametrize("more", [[], ["--json"]])
def test_what_was_found_before(file: Path, more: list[str]) -> None:
    code, wrong = verdict.judged(["check", str(file), *more])
    assert (wrong, code in (0, 1, 2)) == ([], True)


def test_the_same_seed_makes_the_same_cases(tmp_path: Path) -> None:
    twice = [[outcome_of(n, 5, seeds(), tmp_path).text for n in range(10)] for _ in range(2)]
    assert twice[0] == twice[1] and len(set(twice[0])) == 10


def test_mutations_change_the_layout() -> None:
    seed = seeds()[-1]
    assert all(mutated(random.Random(n), seed) != seed for n in range(30))
    assert all(nudged(random.Random(n), seed) != seed for n in range(30))
    assert all(bordering(random.Random(n), seed) != seed for n in range(30))


def misbehaving(deed: str) -> object:
    """A command that does one thing that it must not."""

    def main(_: list[str]) -> int:
        if deed == "raise":
            raise ZeroDivisionError
        if deed == "warn":
            warnings.warn("a number overflowed", RuntimeWarning, stacklevel=1)
        print({"nan": '{"findings": [], "x": NaN}', "talk": "words", "wide": "w" * 101}.get(deed, ""), end="")
        return {"nan": 0, "talk": 2, "mute": 2, "status": 3}.get(deed, 0)

    return main


@pytest.mark.parametrize("deed", ["raise", "warn", "nan", "talk", "mute", "status", "wide"])
def test_misbehaviour_is_noticed(deed: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(verdict, "main", misbehaving(deed))
    _, wrong = verdict.judged(["check", "x", *(["--json"] if deed == "nan" else [])])
    assert wrong


def test_half_a_picture_is_noticed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(verdict, "main", lambda _: 0)
    assert verdict.judged(["check"], tmp_path / "p.png")[1]
    (tmp_path / "p.png").write_bytes(b"half")
    assert verdict.judged(["check"], tmp_path / "p.png")[1]
