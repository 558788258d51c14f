"""Values that are not literal numbers: parameters, bracketed expressions, functions (NISTIR 6556, 3.3.2)."""

from dataclasses import dataclass
from decimal import Decimal

__all__ = ["Arctangent", "Binary", "Expression", "Function", "Literal", "Parameter", "Setting"]


@dataclass(frozen=True, slots=True)
class Literal:
    """A number as written."""

    value: Decimal


@dataclass(frozen=True, slots=True)
class Parameter:
    """`#` and an index: the number stored there."""

    index: "Expression"


@dataclass(frozen=True, slots=True)
class Function:
    """A unary function of a bracketed expression; `name` in upper case, ATAN apart."""

    name: str
    argument: "Expression"


@dataclass(frozen=True, slots=True)
class Arctangent:
    """`ATAN[y]/[x]`."""

    y: "Expression"
    x: "Expression"


@dataclass(frozen=True, slots=True)
class Binary:
    """Two values and an operator between them; `operator` in upper case."""

    operator: str
    left: "Expression"
    right: "Expression"


Expression = Literal | Parameter | Function | Arctangent | Binary


@dataclass(frozen=True, slots=True)
class Setting:
    """`#index = value`, with its block in the chunk and its span in the chunk's text."""

    index: Expression
    value: Expression
    block: int
    start: int
    end: int
