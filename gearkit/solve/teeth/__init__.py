"""Tooth counts: whether a set goes together, which counts it may have, and the search for target ratios."""
