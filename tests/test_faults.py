"""Faults as text. The form FILE:LINE: is that of compilers (GNU coding standards, 4.4); the rest is our own."""

import pickle

from beltplan.faults import Fault, LayoutFaults, did_you_mean, printable, quoted
from tests.for_each import for_each
from tests.told import unreadable_in


def test_one_line_for_each_fault_sorted_and_without_doubles() -> None:
    late, early = Fault(9, "belt", "'x'", "a belt"), Fault(2, "route", "nothing", "names")
    faults = LayoutFaults("a.yaml", [late, early, late])
    assert faults.faults == (early, late)
    assert str(faults) == "a.yaml:2: route: is missing; wanted: names\na.yaml:9: belt: got 'x'; allowed: a belt"


def test_a_long_list_of_what_is_allowed_is_told_once() -> None:
    long = ", ".join(f"key_{n}" for n in range(20))
    faults = LayoutFaults("a.yaml", [Fault(n, key, "'x'", allowed) for n, key, allowed in (
        (1, "a", long), (2, "b", long), (3, "c", "short"), (4, "d", "short"))])  # fmt: skip
    assert [line.partition("allowed: ")[2] for line in str(faults).splitlines()] == [
        long, "the same as for a", "short", "short"]  # fmt: skip


def test_no_text_of_the_file_reaches_the_terminal_raw() -> None:
    fault = Fault(1, "a\nb", quoted("\x1b[2J\n"), "words")
    assert fault.text("x\x07.yaml") == "x\\x07.yaml:1: a\\nb: got '\\x1b[2J\\n'; allowed: words"
    assert printable("plain ü") == "plain ü"


def test_long_texts_are_shortened() -> None:
    assert quoted("x" * 100) == "'" + "x" * 37 + "...'"


def test_a_hint_at_the_nearest_word() -> None:
    assert did_you_mean("dimeter", ("role", "diameter")) == " (did you mean diameter?)"
    assert did_you_mean("zzz", ("role", "diameter")) == ""
    pumps = ("steering_pump", "water_pump", "vacuum_pump")
    assert did_you_mean("vacum_pump", pumps) == " (did you mean vacuum_pump?)"
    assert {did_you_mean(pump, pumps) for pump in ("priming_pump", "fuel_pump")} == {""}


def test_faults_survive_a_trip_to_another_process() -> None:
    faults = LayoutFaults("a.yaml", [Fault(1, "belt", "nothing", "a belt")])
    assert str(pickle.loads(pickle.dumps(faults))) == str(faults)


@for_each(
    ("a list of keys (write {value: , gap: true})", False),
    ("a list of keys (write {value, gap: true})", False),
    ("a list (write [1, {a: 2])", False),
    ("a list (write [{value: 1, gap: true}, {value: 2}])", True),
    ("an unknown key (write {value: ..., gap: true})", True),
    ("'{value: , gap: true}', which nobody offers", True),
)
def test_a_text_that_is_offered_is_whole(got: str, whole: bool) -> None:
    """The law that `conftest.py` asks of all faults, by PyYAML."""
    assert bool(unreadable_in(Fault(1, "a", got))) is not whole
