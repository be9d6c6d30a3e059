"""Why a range has its ratio: the derivation in ordered steps, in words, equations and numbers."""
