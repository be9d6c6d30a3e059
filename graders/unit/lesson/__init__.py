"""The lesson of a unit as a notebook, section by section; import `assemble`."""
