"""The formulas of a story: the speed equation in symbols and numbers, worked steps, written as text and in LaTeX."""
