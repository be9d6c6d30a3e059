"""Things to hold: true involute outlines, and a bench model of a set to print or to cut."""
