"""What is wrong with a line that the grammar refuses, recognised by example and said in plain words.

The parser says where it stopped and which terminals of `rs274.lark` it could have gone on with. That names the
situation (a value is missing, a bracket is open, a word is complete); the characters around it name the mistake.
"""

from flipreg.rs274.read.foreign import BlockSyntaxError, foreign_text
from flipreg.rs274.read.mistake_patterns import (
    CALL,
    CHECKSUM,
    COMMA,
    COMPARISON,
    DIALECT,
    EXPONENT,
    FUNCTION,
    FUNCTIONS,
    LINE_NUMBER,
    MACRO_FLOW,
    NOT_A_NUMBER,
    NUMBER_AFTER,
    O_WORD,
    OPERATOR,
    PROGRAM_NUMBER,
    SIGN_OR_POINT,
    SIGNED,
    VALUE,
    last_operator,
    short,
    squeezed,
    written_out,
)
from flipreg.rs274.read.other_marks import other_mark, remark_by_number_sign
from flipreg.rs274.read.stopped import Stopped

__all__ = ["explain"]


def explain(text: str, position: int, expected: frozenset[str]) -> BlockSyntaxError:
    """Return the error that says what is wrong with a line.

    Parameters
    ----------
    text : str
        The line.
    position : int
        Offset of the first thing that cannot be read, or the length of the line.
    expected : frozenset of str
        The terminals of the grammar that could stand there.
    """
    foreign = foreign_text(text)
    if foreign is not None:
        return foreign
    return _Mistake(text, position).explained(expected)


class _Mistake(Stopped):
    """What is wrong where the parser stopped."""

    def explained(self, expected: frozenset[str]) -> BlockSyntaxError:
        if self.rest and ord(self.rest[0]) > 0x7E:
            return self.error(
                f"found the byte 0x{ord(self.rest[0]):02X}, expected plain ASCII outside comments: retype it, if it "
                "is a dash, quote or blank out of a word processor"
            )
        if "NUMBER" in expected:
            return remark_by_number_sign(self) or self.value_missing()
        if "LEFT" in expected:
            return self.bracket_missing()
        if "OVER" in expected:
            return self.error("ATAN needs two values: expected / and the second one, as in ATAN[2]/[3]")
        if "RIGHT" not in expected and (other := other_mark(self)) is not None:
            return other
        if "LINE_DIGITS" in expected or LINE_NUMBER.fullmatch(self.head):
            return self.line_number(expected)
        if "PROGRAM_DIGITS" in expected or PROGRAM_NUMBER.fullmatch(self.head):
            return self.program_number()
        number = self.number_malformed()
        if number is not None:
            return number
        if "EQUALS" in expected:
            return self.error(f"found {self.found()}, expected = and a value: a parameter is set as in #1=2.5")
        if "RIGHT" in expected:
            return self.expression_unfinished()
        return self.item_unknown()

    def value_missing(self) -> BlockSyntaxError:
        """Explain why there is no value where one is needed."""
        if self.last == "#" and self.rest.startswith("<"):
            return self.error(
                f"named parameters are not in {DIALECT}: replace #<...> by a numbered one, or expand the program "
                "into plain blocks first",
                start=len(self.before) - 1,
                length=self.rest.find(">") + 2,
            )
        signed = SIGNED.match(self.rest)
        if signed:
            value = (
                signed[2].replace("\t", " ")
                if signed[2].endswith("]") or signed[2][-1:].isdigit()
                else f"{signed[2]}..."
            )
            instead = f"[0-{value}]" if signed[1] == "-" else value
            return self.error(
                f"found the sign {signed[1]} before {signed[2][0]}: a sign belongs to a literal number only; "
                f"write {instead}",
                length=1,
            )
        if COMMA.match(self.rest):
            return self.error("found a decimal comma: write the number with a point, as in 0.5", length=1)
        if self.rest[:1] in tuple("+-."):
            digitless = SIGN_OR_POINT.match(self.rest)
            length = len(digitless[0].rstrip(" \t")) if digitless else 1
            return self.error(
                f"found {short(self.rest[:length])} without a digit: expected a number such as -1.5", length=length
            )
        infinite = NOT_A_NUMBER.match(self.rest)
        if infinite:
            return self.error(
                f"{short(infinite[0])} is not a number of the language: expected digits", length=infinite.end()
            )
        if self.rest.startswith("("):
            return self.error(
                f"found a comment, expected {VALUE}: round brackets are comments; use [ ] to group", length=1
            )
        if self.last.isalpha() and not self.is_open("[]"):
            return self.word_without_value()
        if self.rest[:1].isalpha() and (unknown := self.function_unknown()) is not None:
            return unknown
        after = last_operator(self.before)
        return self.error(f"found {self.found()} after {after}, expected {VALUE}")

    def word_without_value(self) -> BlockSyntaxError:
        """Explain a letter that nothing usable follows."""
        start = len(self.before) - 1
        from_letter = self.text[start:]
        if flow := MACRO_FLOW.match(from_letter):
            return self.flow(start, flow.end(1))
        if FUNCTION.match(from_letter):
            name = squeezed(from_letter.partition("[")[0])
            return self.error(
                f"found {name} without a letter in front: expected a word such as X{name}[...]",
                start=start,
                length=from_letter.index("["),
            )
        unknown = self.function_unknown()
        if unknown is not None:
            return unknown
        if self.rest.startswith("="):
            return self.error(f"found =, expected {VALUE}: write the word without =, as in X1.5", length=1)
        letter = self.last.upper()
        ends = self.at if self.rest else start + 1
        instead = f", found {self.found()}" if self.rest else ""
        return self.error(
            f"{letter} has no value{instead}: expected {VALUE} after it", start=start, length=max(1, ends - start)
        )

    def function_unknown(self) -> BlockSyntaxError | None:
        """Explain a name before `[` that is no function; None where the name is a word with a function."""
        call = CALL.match(self.rest)
        if call is None or squeezed(call[1])[1:] in FUNCTIONS:
            return None
        name = squeezed(call[1])
        return self.error(
            f"{short(name)} is not a function: expected one of {', '.join(FUNCTIONS)}", length=call.end(1)
        )

    def bracket_missing(self) -> BlockSyntaxError:
        """Explain a function without its brackets."""
        if self.last == "/":
            return self.error(f"found {self.found()}, expected the second value of ATAN, as in ATAN[2]/[3]")
        name = next(name for name in FUNCTIONS if squeezed(self.before).endswith(name))
        return self.error(f"found {self.found()} after {name}, expected square brackets, as in {name}[0.5]")

    def line_number(self, expected: frozenset[str]) -> BlockSyntaxError:
        """Explain what follows N, or its digits."""
        digits = squeezed(self.before).lstrip("/")
        start = self.before.upper().rindex("N")
        rule = "a line number has up to nine digits, neither sign nor point; write it so, or take it out"
        if self.rest[:1].isdigit() and "LINE_DIGITS" not in expected:
            more = NUMBER_AFTER.match(self.rest)
            length = self.at - start + (more.end() if more else 1)
            return self.error(f"this line number is too long: {rule}", start=start, length=length)
        if "LINE_DIGITS" in expected or self.rest[:1] in tuple(".,+-"):
            return self.error(
                f"found {self.found()} after {digits}: {rule}", start=start, length=self.at + len(self.rest[:1]) - start
            )
        return self.item_unknown()

    def program_number(self) -> BlockSyntaxError:
        """Explain what follows O, or its digits."""
        start = self.before.upper().rindex("O")
        if O_WORD.match(self.text[start:]):
            return self.o_word(start)
        if self.rest[:1].isdigit():
            return self.error("this program number is too long: expected one to eight digits after O", start=start)
        return self.error(
            f"found {self.found()}, expected a program number on a line of its own, as in O1234 (comment)"
        )

    def number_malformed(self) -> BlockSyntaxError | None:
        """Explain what spoils the number that ends here, if it is one."""
        if not self.last.isdigit() and self.last != ".":
            return None
        digits = len(self.before) - len(self.before.rstrip("0123456789. \t"))
        start = len(self.before) - len(self.before[-digits:].lstrip(" \t"))
        if self.rest.startswith("."):
            more = NUMBER_AFTER.match(self.rest)
            end = self.at + (more.end() if more else 1)
            return self.error(
                f"{short(self.text[start:end])} has two decimal points: expected one", start=start, length=end - start
            )
        if COMMA.match(self.rest):
            return self.error("found a decimal comma: write the number with a point, as in 1.5", length=1)
        exponent = EXPONENT.match(self.rest)
        if exponent and self.at == len(self.before):
            end = self.at + exponent.end()
            return self.error(
                f"{short(self.text[start:end])} has an exponent, which the language does not know: write "
                f"{written_out(squeezed(self.text[start:end]))}",
                start=start,
                length=end - start,
            )
        return None

    def expression_unfinished(self) -> BlockSyntaxError:
        """Explain what follows a value inside square brackets."""
        if not self.rest:
            return self.error("this [ is not closed: expected ]", start=self.opened("[]"))
        if self.rest.startswith("("):
            return self.error("found a comment inside [ ]: expected an operator or ]; move it out", length=1)
        if self.rest.startswith("^"):
            return self.error("found ^, expected an operator: a power is written **, as in [2**3]", length=1)
        if self.rest.startswith("%"):
            return self.error("found %, expected an operator: a remainder is written MOD, as in [7 MOD 2]", length=1)
        comparison = COMPARISON.match(self.rest)
        if comparison:
            return self.error(
                f"{squeezed(comparison[0])} is not an operator: comparisons are not in {DIALECT}; expand first"
            )
        return self.error(f"found {self.found()}, expected an operator (+ - * / ** MOD AND OR XOR) or ]")

    def item_unknown(self) -> BlockSyntaxError:
        """Explain what cannot begin a word, a setting or a comment."""
        first = self.rest[:1].upper()
        if first == "%" or self.head == "%":
            return self.error("% marks the beginning or the end of a program: expected it alone on its line", length=1)
        if first == "/" and (not self.before or LINE_NUMBER.fullmatch(self.head)):
            return self.error("found / (block delete) here: expected it as the first thing on the line", length=1)
        if first == "*" and CHECKSUM.match(self.rest):
            return self.error(
                f"{squeezed(self.rest)} looks like a line checksum, which is not in {DIALECT}: remove it"
            )
        operator = OPERATOR.match(self.rest)
        if operator and (self.last.isdigit() or self.last in tuple(".]")):
            return self.error(
                f"found the operator {squeezed(operator[1])} outside [ ]: put the expression in them, as in X[1+2]",
                length=operator.end(1),
            )
        if first == "/":
            return self.error("found / (block delete) here: expected it as the first thing on the line", length=1)
        if first == "]":
            return self.error("found ] without a [ before it", length=1)
        if first == ")":
            return self.error("found ) without a ( before it", length=1)
        if O_WORD.match(self.rest):
            return self.o_word(self.at)
        if flow := MACRO_FLOW.match(self.rest):
            return self.flow(self.at, flow.end(1))
        if first == "N":
            return self.error("found a line number (N) here: expected it first on the line", length=1)
        if first == "O":
            return self.error("found a program number (O) here: expected it on a line of its own", length=1)
        if first in tuple("UVW"):
            return self.error(
                f"{first} is an axis beside X, Y and Z, which {DIALECT} does not have: write it for three axes",
                length=1,
            )
        if first.isalpha():
            return self.error(
                f"{first} is not a word of {DIALECT}: expected one of A B C D F G H I J K L M P Q R S T X Y Z",
                length=1,
            )
        if first.isdigit() and self.last == "/" and LINE_NUMBER.sub("", self.head) == "/":
            return self.error(
                f"a number after / asks for one of several switches, which {DIALECT} does not have: "
                "write / alone where the machine has one switch",
                length=1,
            )
        if first.isdigit() or first in tuple("+-.["):
            return self.error(f"found {self.found()}, expected a letter in front of a value, as in X1.5", length=1)
        return self.error(f"found {self.found()}, expected a word such as X1.5, a comment or a parameter setting")

    def o_word(self, start: int) -> BlockSyntaxError:
        return self.error(
            f"O words with SUB, IF, WHILE and the like are subroutines and control flow, which are not in {DIALECT}: "
            "expand the program into plain blocks first",
            start=start,
            length=len(self.text.rstrip(" \t")) - start,
        )

    def flow(self, start: int, length: int) -> BlockSyntaxError:
        return self.error(
            f"{squeezed(self.text[start : start + length])} is control flow of a macro language, which is not in "
            f"{DIALECT}: expand the program into plain blocks first",
            start=start,
            length=length,
        )
