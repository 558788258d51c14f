"""On which line of a TOML file each key and each list element stands.

The file was read by tomllib before, so it is legal TOML, and what is kept here is only where things are. Nothing
else is taken from this scan: a mistake in it could show a wrong line, never a wrong value.
"""

import re

from flipreg.job.problem import KeyPath

__all__ = ["TOML_STRING", "line_numbers", "nearest_line"]

_KEY = re.compile(r"""[ \t]*(?:"((?:[^"\\]|\\.)*)"|'([^']*)'|([A-Za-z0-9_-]+))[ \t]*""")
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
TOML_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")|\'\'\'.*?\'{3,5}(?!\')|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.DOTALL
)
"""Any string of TOML, on one line or on several."""
_SCALAR = re.compile(r"[^,\]}#\n]*")


def line_numbers(text: str) -> dict[KeyPath, int]:
    """Return the line, from 1, of each table, key and list element of a legal TOML text."""
    return _Scan(text).lines


def nearest_line(lines: dict[KeyPath, int], path: KeyPath) -> int | None:
    """Return the line of a path, or of the nearest one around it that stands in the file."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None


class _Scan:
    def __init__(self, text: str) -> None:
        self.lines: dict[KeyPath, int] = {}
        self._text = text
        self._counts: dict[KeyPath, int] = {}
        at = self._skip(0)
        table: KeyPath = ()
        while at < len(text):
            at, table = self._header(at) if text[at] == "[" else (self._pair(at, table), table)
            at = self._skip(at)

    def _header(self, at: int) -> tuple[int, KeyPath]:
        start, many = at, self._text.startswith("[[", at)
        keys, at = self._keys(at + (2 if many else 1))
        path: KeyPath = ()
        for key in keys[:-1]:
            path = self._newest((*path, key))
        path = (*path, keys[-1])
        if many:
            count = self._counts.get(path, 0)
            self._counts[path] = count + 1
            self._note(path, start)
            path = (*path, count)
        self._note(path, start)
        return at + (2 if many else 1), path

    def _pair(self, at: int, table: KeyPath) -> int:
        start = at
        keys, at = self._keys(at)
        path: KeyPath = (*table, *keys)
        for size in range(len(table) + 1, len(path) + 1):
            self._note(path[:size], start)
        return self._value(self._skip(at + 1), path)

    def _value(self, at: int, path: KeyPath) -> int:
        """Note what is inside a value; return where it ends."""
        mark = self._text[at]
        string = TOML_STRING.match(self._text, at)
        if string is not None:
            return string.end()
        if mark not in "[{":
            found = _SCALAR.match(self._text, at)
            assert found is not None
            return max(found.end(), at + 1)
        close, index = "]" if mark == "[" else "}", 0
        at = self._skip(at + 1)
        while self._text[at] != close:
            if mark == "{":
                at = self._pair(at, path)
            else:
                self._note((*path, index), at)
                at = self._value(at, (*path, index))
                index += 1
            at = self._skip(at)
            if self._text[at] == ",":
                at = self._skip(at + 1)
        return at + 1

    def _keys(self, at: int) -> tuple[list[str], int]:
        keys: list[str] = []
        while True:
            found = _KEY.match(self._text, at)
            assert found is not None
            keys.append(next(part for part in found.groups() if part is not None))
            at = found.end()
            if self._text[at] != ".":
                return keys, at
            at += 1

    def _newest(self, path: KeyPath) -> KeyPath:
        count = self._counts.get(path, 0)
        return (*path, count - 1) if count else path

    def _skip(self, at: int) -> int:
        found = _BLANK.match(self._text, at)
        assert found is not None
        return found.end()

    def _note(self, path: KeyPath, at: int) -> None:
        self.lines.setdefault(path, self._text.count("\n", 0, at) + 1)
