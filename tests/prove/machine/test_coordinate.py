"""A coordinate of the machine: what is known of sums whose symbols nobody knows."""

from decimal import Decimal

from flipreg.prove.machine.coordinate import NOISE_MM, REFERENCE, ZERO, Coordinate
from tests.prove.machine.walks import at


def test_equal_symbols_go_out_of_a_difference() -> None:
    assert at(15, "a", "b") - at(4, "b", "a") == at(11)
    assert at(15, "a", "b") - at(4, "b") == at(11, "a")
    assert at(1, "a") - at(1, "a") == ZERO


def test_a_symbol_is_counted_as_often_as_it_is_added_or_taken_away() -> None:
    assert at(0, "a") + at(0, "a") == Coordinate(symbols=(("a", 2),))
    assert at(2) - at(3, "a") == Coordinate(Decimal(-1), (("a", -1),))
    assert at(2, "a") + at(1) == at(3, "a")
    assert Coordinate(symbols=(("a", -1),)) + at(0, "a") == ZERO


def test_the_order_of_a_sum_does_not_matter() -> None:
    assert at(0, "a", "b") == at(0, "b", "a")


def test_how_much_higher_is_known_only_where_it_is_the_same_for_all_unknowns() -> None:
    assert at(15, "a").over(at(5, "a")) == 10
    assert at(5, "a").over(at(15, "a")) == -10
    assert at(15, "a").over(at(5, "b")) is None
    assert at(15, "a").over(at(5)) is None


def test_one_place_is_one_for_every_value_of_the_unknowns_but_for_noise() -> None:
    assert at(1, "a").is_at(at(1, "a"))
    assert at(1, "a").is_at(Coordinate(1 + NOISE_MM) + at(0, "a"))
    assert at(1, "a").is_at(Coordinate(1 - NOISE_MM) + at(0, "a"))
    assert not at(1, "a").is_at(Coordinate(1 + 2 * NOISE_MM) + at(0, "a"))
    assert not at(1, "a").is_at(Coordinate(1 - 2 * NOISE_MM) + at(0, "a"))
    assert not at(1, "a").is_at(at(1, "b"))
    assert not at(1, "a").is_at(at(1))


def test_what_it_is_made_of_is_known() -> None:
    assert at(1).is_number
    assert not at(1, "a").is_number
    assert at(1).is_of_machine
    assert at(1, f"{REFERENCE}G28 Z").is_of_machine
    assert not at(1, f"{REFERENCE}G28 Z", "a").is_of_machine
    start = Coordinate.start("Z")
    assert start.depends_on_start
    assert (start + at(2, "a")).depends_on_start
    assert not at(2, "a").depends_on_start
    assert start == Coordinate.start("Z")
    assert start != Coordinate.start("X")
    assert not start.is_of_machine
