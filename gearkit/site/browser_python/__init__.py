"""The Python side of a page, run in the browser: what stands in for a notebook there, and what talks to the page."""
