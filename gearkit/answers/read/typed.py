"""Other marks for the same number: digits of other keyboards, small raised and lowered ones, blanks between thousands.

Each of these can only mean one thing; what can mean two is left as it is, for the reader to refuse.
"""

from __future__ import annotations

import re

_DIGITS = {ord(wide): str(number) for number, wide in enumerate("\uff10\uff11\uff12\uff13\uff14\uff15\uff16\uff17\uff18\uff19")}
_DIGITS |= {ord("\uff0e"): ".", ord("\uff0c"): ","}
_RAISED = {ord(mark): str(number) for number, mark in enumerate("\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079")}
_LOWERED = {
    ord(mark): str(number) for number, mark in enumerate("\u2080\u2081\u2082\u2083\u2084\u2085\u2086\u2087\u2088\u2089")
}
_SMALL_FRACTION = re.compile(f"([0-9]?)([{''.join(map(chr, _RAISED))}]+)[\u2044/\u2215]([{''.join(map(chr, _LOWERED))}]+)")
# Before a division line the last group may be the numerator of a mixed number, as in 2 125/250.
_THOUSANDS = re.compile(
    "(?<![0-9.,/^_A-Za-z\u2044])(?<![/^] )[1-9][0-9]{0,2}(?:[ \u00a0\u2009\u202f'\u2019][0-9]{3})+(?![0-9]| ?[/\u00f7\u2044\u2215])"
)
_GAP = re.compile("[ \u00a0\u2009\u202f'\u2019]")
_CROSS = re.compile(r"(?<=[0-9])[xX](?=\.?[0-9])")
_QUOTES = {'"': '"', "'": "'", "`": "`", "\u201c": "\u201d", "\u201e": "\u201c", "\u2018": "\u2019", "\u00ab": "\u00bb"}


def plainly(text: str) -> str:
    """Return a text with plain digits, without quotation marks round all of it and without gaps inside a number.

    Args:
        text: what was written, of bounded length.

    >>> plainly("“3{,}5”"), plainly("3⁹⁄₁₆"), plainly("8 080 rpm"), plainly("270x3.64")
    ('3,5', '3 9/16', '8080 rpm', '270*3.64')
    """
    bare = text.strip().translate(_DIGITS).replace("{,}", ",")
    while len(bare) > 2 and _QUOTES.get(bare[0]) == bare[-1]:
        bare = bare[1:-1].strip()
    bare = _SMALL_FRACTION.sub(_fraction, bare)
    return _CROSS.sub("*", _THOUSANDS.sub(lambda number: _GAP.sub("", number[0]), bare))


def _fraction(fraction: re.Match[str]) -> str:
    whole, over, under = fraction.groups()
    return f"{whole}{' ' if whole else ''}{over.translate(_RAISED)}/{under.translate(_LOWERED)}"
