import tomllib

from hypothesis import given
from hypothesis import strategies as st

from flipreg.job.file.lines import line_numbers, nearest_line
from tests.job.toml import toml_value

TEXT = '''# a comment with = and [brackets]
name = "a # b"
"quoted key" = 1
plain.dotted = { x = 1, y = [1, 2] }

[blank]  # a table
length = 1

[[marks]]
name = "A"
[[marks]]
name = """
two lines
"""
along = [
  1,  # the first
  { deep = "]" },
]
[marks.carried]
from = 'x = [y]'
[[marks.more]]
z = 1
'''


def test_each_key_is_found_on_its_line() -> None:
    tomllib.loads(TEXT)
    lines = line_numbers(TEXT)
    assert lines[("name",)] == 2
    assert lines[("quoted key",)] == 3
    assert lines[("plain", "dotted", "y", 1)] == 4
    assert lines[("blank",)] == 6
    assert lines[("blank", "length")] == 7
    assert lines[("marks", 0)] == 9
    assert lines[("marks", 0, "name")] == 10
    assert lines[("marks", 1, "name")] == 12
    assert lines[("marks", 1, "along")] == 15
    assert lines[("marks", 1, "along", 0)] == 16
    assert lines[("marks", 1, "along", 1, "deep")] == 17
    assert lines[("marks", 1, "carried", "from")] == 20
    assert lines[("marks", 1, "more", 0, "z")] == 22


def test_what_is_missing_is_told_at_the_table_it_is_missing_in() -> None:
    lines = line_numbers(TEXT)
    assert nearest_line(lines, ("marks", 1, "face")) == 11
    assert nearest_line(lines, ("tolerance",)) is None


VALUES = st.recursive(
    st.one_of(st.integers(), st.booleans(), st.text("ab#[]{}='\", \n", max_size=6)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.sampled_from("abc"), inner, max_size=3)),
    max_leaves=6,
)


@given(st.dictionaries(st.sampled_from(["k", "l l", "m.n"]), VALUES, min_size=1))
def test_every_key_of_any_file_has_a_line(tables: dict[str, object]) -> None:
    text = "".join(f"\n# =\n{toml_value(key)} = {toml_value(value)}\n" for key, value in tables.items())
    lines = line_numbers(text)
    assert tomllib.loads(text) == tables
    for number, key in enumerate(tables):
        assert lines[(key,)] == 3 + 3 * number
        assert {path for path in lines if path[0] == key} == set(_paths((key,), tables[key]))


def _paths(path: tuple[str | int, ...], value: object) -> list[tuple[str | int, ...]]:
    inner: list[tuple[str | int, object]] = []
    if isinstance(value, list):
        inner = [*enumerate(value)]
    elif isinstance(value, dict):
        inner = [*value.items()]
    return [path, *(each for key, part in inner for each in _paths((*path, key), part))]
