"""On which line of a TOML file a key stands. The reader of the standard library keeps no positions."""

import bisect
import re
import tomllib

from fourpatch.document.fault import Key

_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_NAME = re.compile(r"""[A-Za-z0-9_-]+|"(?:\\.|[^"\\])*"|'[^']*'""")
_DOT = re.compile(r"[ \t]*\.[ \t]*")
_STRING = re.compile(
    r'''"""(?:\\.|[^\\])*?""""{0,2}|\'\'\'.*?\'\'\'\'{0,2}|"(?:\\.|[^"\\])*"|\'[^\']*\'''', re.DOTALL
)
_SCALAR = re.compile(r"[^,\]}\n#]+")


class Lines:
    """The lines of all keys of a valid TOML text."""

    def __init__(self, text: str) -> None:
        self._text = text.replace("\r\n", "\n")
        self._at = 0
        self._starts = [match.end() for match in re.finditer("\n", self._text)]
        self._lines: dict[Key, int] = {}
        self._counts: dict[Key, int] = {}  # tables so far in each array of tables
        self._document()

    def of(self, key: Key) -> int | None:
        """Return the line of a key or, if it is not written, of the closest table that holds it."""
        for length in range(len(key), 0, -1):
            if key[:length] in self._lines:
                return self._lines[key[:length]]
        return None

    def _document(self) -> None:
        table: Key = ()
        while self._skip():
            if self._text.startswith("[[", self._at):
                self._at += 2
                *above, last = self._names()
                array = (*self._resolved(above), last)
                self._counts[array] = self._counts.get(array, 0) + 1
                self._note(array)
                table = self._resolved((*above, last))
                self._note(table)
                self._at += 2
            elif self._text[self._at] == "[":
                self._at += 1
                table = self._resolved(self._names())
                self._note(table)
                self._at += 1
            else:
                self._pair(table)

    def _resolved(self, names: "list[str] | tuple[str, ...]") -> Key:
        """Return the key of a header, which means the latest table of each array it passes."""
        key: Key = ()
        for name in names:
            key = (*key, name)
            if key in self._counts:
                key = (*key, self._counts[key] - 1)
        return key

    def _pair(self, table: Key) -> None:
        start = self._at
        names = self._names()
        for length in range(1, len(names) + 1):
            self._note((*table, *names[:length]), start)
        self._skip()
        self._at += 1  # the sign =
        self._value((*table, *names))

    def _value(self, key: Key) -> None:
        self._skip()
        opening = self._text[self._at]
        if opening == "{":
            self._at += 1
            while self._skip() and self._text[self._at] != "}":
                self._pair(key)
                self._comma()
            self._at += 1
        elif opening == "[":
            self._at += 1
            place = 0
            while self._skip() and self._text[self._at] != "]":
                self._note((*key, place))
                self._value((*key, place))
                self._comma()
                place += 1
            self._at += 1
        else:
            match = _STRING.match(self._text, self._at) or _SCALAR.match(self._text, self._at)
            assert match is not None
            self._at = match.end()

    def _comma(self) -> None:
        if self._skip() and self._text[self._at] == ",":
            self._at += 1

    def _names(self) -> list[str]:
        names = []
        while True:
            self._skip()
            match = _NAME.match(self._text, self._at)
            assert match is not None
            self._at = match.end()
            names.append(tomllib.loads(f"name = {match[0]}")["name"] if match[0][0] in "\"'" else match[0])
            dot = _DOT.match(self._text, self._at)
            if dot is None:
                self._skip()
                return names
            self._at = dot.end()

    def _skip(self) -> bool:
        """Pass blanks, line ends and comments; say whether any text is left."""
        match = _BLANK.match(self._text, self._at)
        assert match is not None
        self._at = match.end()
        return self._at < len(self._text)

    def _note(self, key: Key, at: int | None = None) -> None:
        self._lines.setdefault(key, 1 + bisect.bisect_right(self._starts, self._at if at is None else at))
