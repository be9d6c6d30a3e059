"""Right or not, exactly: equality of expressions and numbers. Outside this folder ask `compare` and `formulas`."""
