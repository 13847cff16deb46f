"""One test over many cases tells which fail, and runs all."""

import pytest

from tests.for_each import for_each


def test_all_run_and_those_that_fail_are_named() -> None:
    seen = []

    @for_each((1, 2), (4, 3), (0, 9), (6, 5))
    def ordered(limit: int, low: int, high: int) -> None:
        seen.append(low)
        assert low < high < limit

    with pytest.raises(AssertionError) as caught:
        ordered(limit=10)
    assert seen == [1, 4, 0, 6]
    assert all(words in str(caught.value) for words in ("2 of 4", "[4-3]", "[6-5]")) and "[0-9]" not in str(
        caught.value
    )


@for_each("x", "y", ids=str.upper)
@for_each(1, 2)
def test_they_stack_and_leave_fixtures_alone(tmp_path: object, b: str, a: int) -> None:
    assert a in (1, 2) and b in ("x", "y") and tmp_path


def test_no_case_is_no_test() -> None:
    with pytest.raises(AssertionError):
        for_each()


def test_what_should_have_been_raised_is_told() -> None:
    @for_each("1", "one")
    def refused(text: str) -> None:
        with pytest.raises(ValueError):
            float(text)

    with pytest.raises(AssertionError, match=r"\['1'\]"):
        refused()
