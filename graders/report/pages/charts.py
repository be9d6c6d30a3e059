"""Small bars for table cells as inline SVG: each says in words what it shows, and reads without colour.

Colours come from the page's own variables (``--ink``, ``--soft``, ``--accent``), so that a bar follows light, dark and
print. The plots of a report are in `plots`.
"""

from __future__ import annotations

from html import escape


def _text(x: float, y: float, text: str, kind: str = "", anchor: str = "start") -> str:
    place = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return f'<text x="{x:g}" y="{y:g}" class="{kind}"{place}>{escape(text)}</text>'


def bar(share: float, words: str) -> str:
    """Return a short bar for a table cell.

    Args:
        share: how much of it is filled, from 0 to 1.
        words: what it says, for those who do not see it.
    """
    filled = 88 * min(1.0, max(0.0, share))
    return (
        f'<svg viewBox="0 0 90 12" role="img" aria-label="{escape(words, quote=True)}" class="bar">'
        f'<rect x=".5" y="1.5" width="89" height="9" class="bar-frame"/>'
        f'<rect x="1" y="2" width="{filled:.2f}" height="8" class="bar-fill"/></svg>'
    )


def pair(upper: float, lower: float, words: str) -> str:
    """Return two thin bars, the upper group's filled and the lower group's open, for one mistake.

    Args:
        upper: share of the upper group, from 0 to 1.
        lower: share of the lower group, from 0 to 1.
        words: what they say, for those who do not see them.
    """
    rows = []
    for y, name, share, kind in ((0, "upper", upper, "bar-fill"), (20, "lower", lower, "bar-open")):
        rows.append(_text(40, y + 12.5, name, "note", "end"))
        rows.append(f'<rect x="46.5" y="{y + 3.5:g}" width="{max(1.0, 100 * share):.1f}" height="11" class="{kind}"/>')
        rows.append(_text(152 if share > 0.99 else 52 + 100 * share, y + 12.5, f"{share:.0%}", "note"))
    rows.append('<path d="M46 0v37" class="rule"/>')
    return f'<svg viewBox="0 0 184 38" role="img" aria-label="{escape(words, quote=True)}" class="pair">{"".join(rows)}</svg>'
