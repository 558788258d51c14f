"""What mistakes in a line look like: patterns of text that the grammar refuses, and how such text is shown."""

import re
from decimal import Decimal

__all__ = [
    "CALL",
    "CHECKSUM",
    "COMMA",
    "COMPARISON",
    "DIALECT",
    "EXPONENT",
    "FUNCTION",
    "FUNCTIONS",
    "LINE_NUMBER",
    "MACRO_FLOW",
    "NOT_A_NUMBER",
    "NUMBER_AFTER",
    "OPERATOR",
    "O_WORD",
    "PROGRAM_NUMBER",
    "SIGNED",
    "SIGN_OR_POINT",
    "VALUE",
    "last_operator",
    "short",
    "squeezed",
    "written_out",
]

FUNCTIONS = ["ABS", "ACOS", "ASIN", "ATAN", "COS", "EXP", "FIX", "FUP", "LN", "ROUND", "SIN", "SQRT", "TAN"]
VALUE = "a number, #parameter, [expression] or function"
DIALECT = "RS-274/NGC (NISTIR 6556)"


def _spaced(*names: str) -> str:
    """Return the pattern of any of the names, blanks allowed inside."""
    return "(?:" + "|".join("[ \t]*".join(name) for name in names) + ")"


LINE_NUMBER = re.compile(r"(?:/[ \t]*)?N[ \t0-9]*", re.IGNORECASE)
PROGRAM_NUMBER = re.compile(r"O[ \t0-9]*", re.IGNORECASE)
_FLOW = [
    "SUB",
    "ENDSUB",
    "CALL",
    "RETURN",
    "IF",
    "ELSE",
    "ENDIF",
    "WHILE",
    "ENDWHILE",
    "DO",
    "REPEAT",
    "BREAK",
    "CONTINUE",
]
O_WORD = re.compile(r"O[ \t]*(?:[<\[]|[0-9][0-9 \t]*" + _spaced(*_FLOW) + ")", re.IGNORECASE)
MACRO_FLOW = re.compile("(" + _spaced("IF", "WHILE", "GOTO", "END", "DO") + r")[ \t]*[\[#0-9]", re.IGNORECASE)
FUNCTION = re.compile(_spaced(*FUNCTIONS) + r"[ \t]*\[", re.IGNORECASE)
CALL = re.compile(r"([A-Z](?:[ \t]*[A-Z])+)[ \t]*\[", re.IGNORECASE)
SIGNED = re.compile(
    r"([+-])[ \t]*(#[ \t]*[0-9]{1,4}|[A-Z \t]{0,12}\[[^][]{0,20}\]|#|[A-Z \t]{0,12}\[|" + _spaced(*FUNCTIONS) + ")",
    re.IGNORECASE,
)
SIGN_OR_POINT = re.compile(r"[+-]?[ \t]*\.?")
EXPONENT = re.compile(r"E[ \t]*[+-]?[ \t]*[0-9]+", re.IGNORECASE)
COMMA = re.compile(r",[ \t]*[0-9]")
NUMBER_AFTER = re.compile(r"[0-9. \t]*[0-9.]")
NOT_A_NUMBER = re.compile(_spaced("NAN", "INF", "INFINITY"), re.IGNORECASE)
_OPERATORS = r"(\*[ \t]*\*|[-+*/]|" + _spaced("MOD", "AND", "OR", "XOR") + ")"
OPERATOR = re.compile(
    _OPERATORS + r"[ \t]*(?=[-+*/.#0-9[]|" + _spaced(*FUNCTIONS) + ")",
    re.IGNORECASE,
)
COMPARISON = re.compile(r"[<>=!]{1,3}|" + _spaced("EQ", "NE", "GT", "GE", "LT", "LE"), re.IGNORECASE)
CHECKSUM = re.compile(r"\*[ \t]*[0-9]{1,3}[ \t]*$")


def written_out(number: str) -> str:
    """Return a number with an exponent without it, if that is short."""
    mantissa, _, exponent = number.partition("E")
    short = len(mantissa) <= 18 and mantissa.count(".") <= 1 and len(exponent) <= 3
    return f"{Decimal(number):f}" if short else "the number out"


def last_operator(before: str) -> str:
    """Return the operator, bracket or sign at the end of a text."""
    for name in ("**", "MOD", "AND", "XOR", "OR"):
        if squeezed(before).endswith(name):
            return name
    return before[-1:]


def short(text: str) -> str:
    """Return a text as a message shows it: without tabs, only its beginning if it is long."""
    plain = text.replace("\t", " ")
    return plain if len(plain) <= 30 else f"{plain[:30]}..."


def squeezed(text: str) -> str:
    """Return a text in upper case without its blanks."""
    return text.replace(" ", "").replace("\t", "").upper()
