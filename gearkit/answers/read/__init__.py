"""From a learner's text to an expression: the only reader, which runs nothing. Outside this folder ask `reader` and `units`."""
