"""One test of many cases fails where one of them does, and names each that does."""

import pytest

from tests.every import every


def test_each_case_that_fails_is_named_and_no_other() -> None:
    @every("one", [1, 2, 3])
    @every("two, three", [(1, 0), (2, 0)])
    def small(one: int, two: int, three: int) -> None:
        assert one * two + three != 2

    with pytest.raises(AssertionError) as caught:
        small()
    said = str(caught.value)
    assert "2 of 3 cases" in said
    assert "one = 1:" in said
    assert "two, three = (2, 0): AssertionError" in said
    assert "one = 3:" not in said


def test_what_should_have_been_raised_and_was_not_counts() -> None:
    @every("text", ["1", "x"])
    def small(text: str) -> None:
        with pytest.raises(ValueError, match="invalid literal"):
            int(text)

    with pytest.raises(AssertionError, match="text = '1': Failed: DID NOT RAISE"):
        small()


@every("number", range(3))
def test_fixtures_are_given_besides_the_cases(number: int, request: pytest.FixtureRequest) -> None:
    assert request.node.name == "test_fixtures_are_given_besides_the_cases"
    assert number < 3
