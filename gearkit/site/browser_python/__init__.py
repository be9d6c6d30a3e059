"""The Python side of a page, run in the browser: what stands in for a notebook there, what talks to the page,
and its memory as a file."""
