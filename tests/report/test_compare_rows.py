"""The rows of a comparison: numbers as they are shown, differences to the first column, what is not known."""

from dataclasses import replace

import pytest

from beltplan.checks.comparison import compare
from beltplan.drive.layout import CrankSwing
from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.rows import compare_rows, compare_verdict, less_given, less_words, unjudged_words
from tests.checks.drives import belt_of, sliding, two
from tests.cure.drives import layout_of, revving_camper
from tests.for_each import for_each
from tests.report.comparisons import SETS, made


def cells(name: str) -> dict[str, tuple[str, ...]]:
    return {row.key: row.cells for row in compare_rows(made(name))}


@for_each(*SETS)
def test_every_row_has_a_cell_for_every_column_and_a_key_of_its_own(name: str) -> None:
    rows = compare_rows(made(name))
    assert {len(row.cells) for row in rows} == {len(made(name).columns)}
    assert len({row.key for row in rows}) == len(rows)
    assert all(cell and cell == cell.strip() for row in rows for cell in row.cells)


@for_each(*SETS)
def test_a_difference_is_that_of_the_numbers_shown(name: str) -> None:
    """Read back from the table itself: shown number less the first one's is what stands in the brackets."""
    seen = 0
    for row in compare_rows(made(name)):
        for cell in row.cells[1:]:
            if cell.endswith(")") and " (" in cell:
                shown, _, difference = cell.removesuffix(")").partition(" (")
                assert difference[0] in "+-"
                assert float(shown) - float(row.cells[0]) == pytest.approx(float(difference), abs=1e-9)
                seen += 1
            elif row.key not in ("rank", "verdict") and cell != "-" and made(name).columns[0].plan is not None:
                assert (cell == row.cells[0]) is not cell.endswith("*")
    assert seen or name in ("one", "refused first")


def test_pounds_stand_under_newtons_for_who_measures_in_inches() -> None:
    """1 lbf is 0.45359237 kg x 9.80665 m/s2 by definition (NIST SP 811, B.8)."""
    assert made("workboat").columns[0].layout.units == "in" and made("camper").columns[0].layout.units == "mm"
    newton, pounds = (cells("workboat")[key] for key in ("hub", "hub_lbf"))
    for one, other in zip(newton, pounds, strict=True):
        # Of the newtons that are told, so that a table and a sentence tell the same pounds.
        assert float(other.split()[0]) == pytest.approx(float(one.split()[0]) / (0.45359237 * 9.80665), abs=0.5)
    assert "hub_lbf" not in cells("camper")


def test_the_first_column_and_equal_cells_carry_no_mark() -> None:
    rows = cells("ties")
    assert all(not row[0].endswith(("*", ")")) for row in rows.values())
    assert all(row[0] == row[1] for row in rows.values())


def test_nothing_is_marked_where_the_first_column_has_no_path() -> None:
    rows = cells("refused first")
    assert rows["verdict"][0] == "no belt path" and rows["rank"] == ("3", "1", "2")
    assert all(row[0] == "-" for key, row in rows.items() if key not in ("rank", "verdict"))
    assert all(not cell.endswith(("*", ")")) for row in rows.values() for cell in row)


def test_a_column_without_a_path_knows_nothing() -> None:
    assert {row[1] for key, row in cells("refused among").items() if key not in ("rank", "verdict")} == {"-"}


def test_slack_is_said_and_not_given_as_a_number() -> None:
    rows = cells("slack")
    assert rows["wet"][0] == "slack" and rows["margin"][0] == "slack"
    assert rows["wet"][1].endswith("*") and float(rows["wet"][1].removesuffix("*")) > 0.0
    assert rows["wet"][2] == "-"


def test_numbers_by_hand() -> None:
    """Equal pulleys of 100 mm: 180 deg of wrap, 120 wanted, so 60 over and a margin of 50 %."""
    rows = cells("ties")
    assert rows["wrap"][:2] == ("60.0", "60.0") and rows["wrap_at"][0] == "crank"
    assert rows["margin"][0] == "50.0" and rows["margin_of"][0] == "wrap, crank"
    assert rows["problems"] == ("0", "0", "0")


def test_a_margin_beyond_its_limit_where_nothing_is_a_problem_is_told_as_a_caution() -> None:
    """What a belt lacks of its reserve, or a battery of its current, leaves a drive that works on paper: a caution."""
    lacking = read_layout("tests/cases/hand_set_1449.yaml").layout
    rows = {row.key: row.cells[0] for row in compare_rows(compare([("one", lacking), ("two", lacking)]))}
    assert float(rows["margin"]) < 0.0 and rows["verdict"] == "works on paper" and rows["problems"] == "0"
    assert rows["margin_of"].endswith(": a caution")


def test_no_row_speaks_of_an_adjuster_where_no_column_has_one() -> None:
    assert not {"position", "take_up"} & set(cells("ties"))
    assert cells("refused among")["position"][0] == "-"


def test_slip_on_revs_has_a_row_where_a_column_is_judged_for_it() -> None:
    """The worst when wet of the drive solved while the engine changes speed."""
    layout = revving_camper(13.9, 4500.0)
    operation = operation_of(route_of(layout))
    assert operation is not None
    changed = operation.revving
    assert changed is not None
    rows = {row.key: row for row in compare_rows(compare([("weak", layout), ("steady", layout_of("workboat"))]))}
    assert rows["revving"].cells[0] == f"{changed[1][1].max():.2f}" and rows["revving"].cells[1] == "-"
    assert rows["revving"].label == "grip used, wet, revving" and rows["revving_at"].cells[0].startswith(
        "crank, 800 rpm"
    )
    assert rows["margin_of"].cells[0] == "slip when wet and revving, crank"
    assert not {"revving", "revving_at"} & set(cells("workboat"))


def test_the_belt_judged_is_told_only_where_it_is_another_than_the_best_in_stock() -> None:
    best = compare([("a", sliding())])
    assert "belt" not in {row.key for row in compare_rows(best)}
    # Paths from 914.2 to 1034.2 mm: a belt of 1000 mm fits, but one nearer the middle leaves more in hand.
    own = compare([("a", belt_of(1000.0, sliding())), ("b", sliding())])
    rows = {row.key: row.cells for row in compare_rows(own)}
    assert rows["belt"][0] == "6PK1000" != rows["best_stock"][0] and rows["belt"][1].endswith("*")
    outside = compare([("a", belt_of(800.0, sliding()))])
    rows = {row.key: row.cells for row in compare_rows(outside)}
    assert rows["belt"] == ("6PK800",) and rows["reserve"] == ("-",)


def test_alternators_of_every_column_have_their_rows() -> None:
    rows = cells("all")
    assert {"engine_alternator idle", "house_alternator max", "alternator idle", "alternator max"} <= set(rows)
    assert rows["alternator idle"][0] == "-" and rows["alternator idle"][-1].endswith("*")


def test_verdicts_are_those_of_the_report() -> None:
    comparison = made("workboat")
    assert [compare_verdict(column).split(":")[0].split(",")[0] for column in comparison.columns] == [
        "works on paper",
        "works on paper",
        "does not work as it stands",
    ]


def test_a_word_of_warning_where_slip_is_known_of_some_only() -> None:
    assert unjudged_words(made("workboat")) == "" == unjudged_words(compare([("a", two()), ("b", two())]))
    assert unjudged_words(made("slack")).endswith("no load, so its rank leaves slip out: no loads are given.")


def test_of_a_belt_that_cannot_be_put_on_no_loads_are_asked_for() -> None:
    """The loads are given: 1000 mm are under the path at the short stop, so nothing says what the belt carries."""
    given = read_layout("layouts/workboat.yaml", None).layout
    short = compare([("as it is", given), ("short", belt_of(1000.0, given))])
    assert unjudged_words(short).endswith(" for short, so its rank leaves slip out: the named belt does not fit.")


def test_a_column_that_gives_less_to_judge_by_is_named_with_the_keys_to_give() -> None:
    """A swing that only one column gives makes a problem there of what is a note in the others."""
    layout = layout_of("railcar")
    pulley, engine = layout.pulleys["compressor"], layout.engine
    known = replace(layout, engine=replace(engine, swing_deg=CrankSwing((2.0,))))
    known = known.with_pulley(replace(pulley, inertia_kgm2=0.01))
    bare = layout.with_pulley(replace(pulley, inertia_kgm2=None))
    told = "Judged with less: b and c (give engine.swing_deg, pulleys.compressor.inertia_kgm2)."
    assert less_words(compare([("a", known), ("b", bare), ("c", bare)])) == told
    assert less_words(compare([("a", known), ("b", known)])) == "" == less_words(compare([("b", bare), ("c", bare)]))
    asked = {"b": ["engine.swing_deg"], "c": ["engine.swing_deg", "pulleys.compressor.inertia_kgm2"]}
    half = replace(known, engine=engine)
    assert less_given(compare([("a", known), ("b", half), ("c", bare)])) == asked
    # Without cylinders or changes of speed nothing is judged by an inertia.
    still = [replace(each, engine=replace(engine, cylinders=None, rev_up_rpm_per_s=None)) for each in (half, bare)]
    assert less_given(compare([("a", still[0]), ("b", still[1])])) == {}
