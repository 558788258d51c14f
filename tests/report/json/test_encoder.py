"""One encoder writes every report: fields become keys, a table says the exceptions, and nothing is NaN."""

import json
from dataclasses import dataclass, field
from decimal import Decimal
from enum import Enum
from math import inf, nan

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.report.json.encoder import SPREAD, Keys, KeyTable, as_object, encoded, json_text


class Wood(Enum):
    OAK = "oak"


@dataclass(frozen=True)
class Place:
    at_mm: tuple[float, float]
    wood: Wood = Wood.OAK


@dataclass(frozen=True)
class Cut:
    name: str
    place: Place
    depth_mm: float | None
    line: int | None = None
    through: bool = False
    heights_mm: NDArray[np.float64] = field(default_factory=lambda: np.array([1.00000049, nan]))


CUT = Cut("slot", Place((0.1 + 0.2, -0.0)), -1e-9)


def test_fields_become_keys_in_their_order_and_noise_of_floats_goes() -> None:
    found = as_object(CUT, {})
    assert [*found] == ["name", "place", "depth_mm", "line", "through", "heights_mm"]
    assert json.dumps(found["place"]) == '{"at_mm": [0.3, 0.0], "wood": "oak"}'
    assert json.dumps(found["depth_mm"]) == "0.0"
    assert (found["line"], found["through"], found["heights_mm"]) == (None, False, [1.0, None])


def test_a_table_names_orders_spreads_and_leaves_out_and_what_it_does_not_mention_follows() -> None:
    table: KeyTable = {
        Cut: Keys({"deep": "depth_mm", "place": SPREAD, "x": lambda cut: cut.place.at_mm[0]}, without=("line",)),
        Place: Keys({"of": "wood.value"}, without=("wood",), decimals=1),
    }
    assert as_object(CUT, table) == {
        "deep": 0.0,
        "of": "oak",
        "at_mm": [0.3, 0.0],
        "x": 0.3,
        "name": "slot",
        "through": False,
        "heights_mm": [1.0, None],
    }


def test_decimals_are_those_of_the_class_but_for_single_keys() -> None:
    @dataclass(frozen=True)
    class Sizes:
        coarse_mm: float
        fine_mm: float

    table: KeyTable = {Sizes: Keys(decimals=1, finer={"fine_mm": 3})}
    assert as_object(Sizes(1.23456, 1.23456), table) == {"coarse_mm": 1.2, "fine_mm": 1.235}


@pytest.mark.parametrize("value", [nan, inf, -inf, Decimal("NaN"), np.float64(nan)])
def test_what_is_no_number_is_null(value: object) -> None:
    assert encoded({"a": [value, (value,)]}, {}) == {"a": [None, [None]]}


def test_a_value_that_has_no_place_in_json_is_refused_with_its_type() -> None:
    with pytest.raises(TypeError, match="complex cannot be written as JSON"):
        encoded([1j], {})


def test_the_text_is_strict_and_ends_a_line() -> None:
    assert json_text({"a": 1}) == '{\n  "a": 1\n}\n'
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_text({"a": nan})
