"""Families of answers: `kind` says what each is like, one module each has its checkers (`judge.checkers.Checker`)."""
