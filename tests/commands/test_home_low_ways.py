"""Ways lower than the safe height in what `flipreg home` makes: the new ones, and those that lead home."""

import pytest

from tests.commands.command import run

REMARKS = "(some text to fill chunks)\n" * 60_000
CUT = "G1 Z-1 F300\nX20\nG0 Z20\nX0 Y0\nM2\n"


def sent_home(text: str, safe: str = "15") -> tuple[str, str]:
    status, out, err = run(["home", "-", "--safe-z", safe], text.encode())
    assert status == 0, err
    return out.decode(), err


@pytest.mark.parametrize(
    ("head", "told"),
    {
        "a height before": ("G0 Z10\nX-10 Y80\n", "as low as Z10 mm, as line 3 of"),
        "down on the way": ("G0 X5 Y5 Z2\n", "as low as Z2 mm, as line 2 of"),
        "down from the machine's height": ("G53 G0 Z0\nG43 H1 Z5\nX5 Y5\n", "as low as Z5 mm, as line 4 of"),
        "down from a height that is not named": ("G0 X5 Y5\nX9 Y9 Z2\n", "as low as Z2 mm, as line 3 of"),
        "the second axis lower": ("G0 X5\nZ3\nY5\n", "as low as Z3 mm, as line 4 of"),
        "the lowest of two": ("G0 Z5\nX5\nZ3\nY5\n", "as low as Z3 mm, as line 5 of"),
        "a hole": ("G0 Z10\nG81 X5 Y5 Z-2 R5 F90\nG80\nG0 Z20\n", "as low as Z10 mm, as line 3 of"),
        "a hole that is risen to": ("G0 Z4\nG81 X5 Y5 Z-2 R6 F90\nG80\nG0 Z20\n", "as low as Z6 mm, as line 3 of"),
        "across by the machine": ("G0 Z5\nG53 X-9 Y-9\nX5 Y5\n", "as low as Z5 mm, as line 3 of"),
        "a length set on the way": (
            "G53 G0 Z0\nG43 H1 Z5\nG43 H2\nG0 X5 Y5\nZ5\n",
            "at a height that nobody knows, as line 5 of",
        ),
    }.values(),
)
def test_a_new_way_from_zero_that_is_lower_than_the_safe_height_is_told(head: str, told: str) -> None:
    out, err = sent_home(f"G21 G90\n{head}{CUT}")
    said = f"from zero to its first place it crosses {told} the source says, and not at Z15 mm; see that nothing stands"
    assert said in err
    assert said in out.split("\nG21 G90")[0]


@pytest.mark.parametrize(
    "head",
    [
        "G0 X5 Y5\nZ2\n",
        "G0 Z15\nX5 Y5\nZ2\nX8 Y8\n",
        "G53 G0 Z0\nG43 H1\nX5 Y5\nZ2\n",
        "G0 Z5\nX0 Y0\nX5 Y5\n",
        "G0 Z20\nX0 Y0\nZ5\nX5 Y5\n",
    ],
)
def test_a_way_that_is_high_or_the_source_s_own_is_not_told(head: str) -> None:
    assert "from zero to its first place" not in sent_home(f"G21 G90\n{head}{CUT}")[1]


@pytest.mark.parametrize(
    "tail",
    [
        "G0 Z5\nX50\nY0\n",
        "G0 Z5\nX50\nY0\nZ5\n",
        "G0 Z5\nX0\n",
        "G0 Z2\nX0 Y7\nZ20\n",
        "G0 Z2\nX9 Y9\nZ20\nX0 Y0\n",
        "X0 Y0\n",
        "G0 Z2\nX0 Y0\n",
    ],
)
def test_what_home_writes_is_at_home(tail: str) -> None:
    text = f"G21 G90\nG0 Z5\nX5 Y5\nG1 Z-1 F300\nX20\n{tail}M30\n"
    once, _ = sent_home(text)
    again, said = sent_home(once)
    assert "nothing added: it did so already" in said
    assert again.endswith(once.split("first)\n", 1)[1])
    is_low = "its own way to zero" in once
    assert run(["home", "-", "--safe-z", "15", "--check"], once.encode())[0] == is_low


@pytest.mark.parametrize(
    ("tail", "line", "added"),
    [
        ("X0 Y0\n", 8, "G0 Z15\n"),
        ("X0 Y0\nZ20\n", 8, ""),
        ("X0\nY0\nZ20\n", 9, ""),
        ("Z20\nX0 Y0 Z2\nZ20\n", 9, ""),
        ("X0 Y0\nG53 G0 Z0\n", 8, ""),
        (f"X0 Y0\n{REMARKS}Z20\n", 8, ""),
    ],
    ids=["it stays low", "it rises", "axis by axis", "down on the way", "up by the machine", "a long text after it"],
)
def test_a_low_way_to_zero_of_the_source_s_own_is_told_and_left(tail: str, line: int, added: str) -> None:
    text = f"G21 G90\nG0 Z20\nX0 Y0\nX5 Y5\nG1 Z-1 F300\nX20\nG0 Z2\n{tail}"
    out, err = sent_home(text + "M30\n")
    said = f"its own way to zero, line {line} of the source, crosses below Z15 mm; see that nothing stands there"
    assert said in err
    assert said in out.split("\nG21 G90")[0]
    assert out.endswith(f"first)\n{text}{added}M30\n")
    checked = run(["home", "-", "--safe-z", "15", "--check"], text.encode())
    assert (checked[0], f"<stdin>:{line}: crosses to zero below Z15\n" in checked[1].decode()) == (1, True)
