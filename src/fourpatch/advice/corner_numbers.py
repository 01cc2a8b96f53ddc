"""Corners by number in a typed text: ``turn 3``, ``T3/T5``, ``corners 3, 5 and 7``, ``3 to 5``."""

import re

NUMBER_WORDS = {
    word: str(number)
    for number, words in enumerate(
        (
            ("one", "first", "1st"),
            ("two", "second", "2nd"),
            ("three", "third", "3rd"),
            ("four", "fourth", "4th"),
            ("five", "fifth", "5th"),
            ("six", "sixth", "6th"),
            ("seven", "seventh", "7th"),
            ("eight", "eighth", "8th"),
            ("nine", "ninth", "9th"),
            ("ten", "tenth", "10th"),
            ("eleven", "eleventh", "11th"),
            ("twelve", "twelfth", "12th"),
        ),
        start=1,
    )
    for word in words
}
"""Numbers of corners in words, counted and in order."""

_CORNER = r"(?:turns?|corners?|bends?)"
_NUMBER = rf"(?:\d{{1,3}}|{'|'.join(NUMBER_WORDS)})"
_ORDINAL = "|".join(word for word in NUMBER_WORDS if word.endswith(("st", "nd", "rd", "th", "second")))
_JOINED = r"\s*(?:,\s*and|,|and|&|or|/|\+|to|through|-)\s*"
NUMBERED = re.compile(
    rf"(?<![\w'-])(?:{_CORNER}\s*(?:numbers?\s*|nos?\.?\s*)?#?|t\s?)(?P<first>{_NUMBER})(?![\w'])"
    rf"(?P<more>(?:{_JOINED}(?:{_CORNER}\s*|t\s?)?#?{_NUMBER}(?![\w'-]))*)"
    rf"|(?<![\w'-])(?P<ordinal>{_ORDINAL})\s+{_CORNER}(?![\w'-])",
    re.IGNORECASE,
)
"""Corners by number: ``turn 3``, ``T3/T5``, ``corners 3, 5 and 7``, ``3 to 5``, ``the third corner``."""


def corners_marked(text: str) -> str:
    """Return a text with a mark, ``@3_5_7``, for each list of corner numbers.

    So that its commas and its "and" do not part a sentence.
    """

    def mark(found: re.Match[str]) -> str:
        if found["ordinal"]:
            return f"@{NUMBER_WORDS[found['ordinal'].lower()]} "
        numbers: list[int] = []
        until = False
        for part in re.findall(r"\d+|to\b|through|-|[a-z]+", f"{found['first']} {found['more']}".lower()):
            number = NUMBER_WORDS.get(part, part)
            if number.isdigit():
                numbers += range(numbers[-1] + 1, int(number)) if until and numbers else ()
                numbers.append(int(number))
            until = part in ("to", "through", "-") or (until and not number.isdigit())
        return f"@{'_'.join(map(str, sorted(set(numbers))))} "

    return NUMBERED.sub(mark, text)
