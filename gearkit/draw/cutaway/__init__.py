"""The train as solid bodies: placement, half-section, overlap test, the hatched picture and the scene of the live cutaway."""
