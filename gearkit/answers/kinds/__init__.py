"""Families of answers: one module each, every class a `targets.Target`."""
