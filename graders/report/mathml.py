"""Formulas as MathML; the same for lessons and reports, so the code lies with the kit's words."""

from gearkit.words.mathml import from_expression, from_latex

__all__ = ["from_expression", "from_latex"]
