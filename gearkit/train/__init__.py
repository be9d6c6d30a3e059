"""The parts of a transmission as data: sets, elements, layouts, and the files they come from. Nothing here solves."""
