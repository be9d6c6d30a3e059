"""A sheet: what is asked, under which rules, composed from lessons, items or a layout, and written as a notebook."""
