"""How much a tab may bear: an estimate from the shear strength of clear wood, and never more than that.

Source: *Wood Handbook: Wood as an Engineering Material*, USDA Forest Products Laboratory, FPL-GTR-282, table 5-3a:
average shear strength parallel to the grain of clear, straight-grained wood at 12 % moisture. White ash is from
memory. Averages are no design values: boards differ by some 15 %, knots and short grain take most of it away, and
a cutter that grabs pulls harder than anybody expects.
"""

__all__ = ["SHEAR_SOURCE", "shear_strength_kpa"]

SHEAR_SOURCE = "Wood Handbook FPL-GTR-282, table 5-3a"

_KPA = {
    "sugar maple": 16_100.0,
    "white oak": 13_800.0,
    "green ash": 13_200.0,
    "white ash": 13_200.0,
    "black cherry": 11_700.0,
    "sweetgum": 11_000.0,
    "yellow-poplar": 8_200.0,
    "sitka spruce": 7_900.0,
}


def shear_strength_kpa(species: str | None) -> float | None:
    """Return the average shear strength along the grain of clear wood, in kPa; None for a wood not in the table."""
    return None if species is None else _KPA.get(" ".join(species.lower().split()))
