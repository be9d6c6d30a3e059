"""Marking one answer: read, compare, name the mistake, give marks. Outside this folder ask `marking` and `results`."""
