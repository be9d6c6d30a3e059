"""The exact arithmetic under the solver: elimination, tables by Cramer's rule, common factors, formulas. For `gearkit.solve` and `gearkit.explain`."""
