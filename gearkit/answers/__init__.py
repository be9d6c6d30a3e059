"""Answers: reading what a learner wrote, comparing it exactly, the item bank and its marking.

``reader`` turns text into an expression without running it, ``compare`` decides, ``items`` and ``bank`` hold the
exercises, ``variants`` draws each learner's numbers, ``marking`` marks. None of them loads sympy.
"""
