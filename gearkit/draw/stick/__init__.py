"""The stick diagram: placement, wiring, lines, symbols. Outside this folder ask `stick_diagram` and `placement`."""
