"""Sheets on paper: copies with a mark on every page, spare ones, the key, and what was written typed in; import `copies` and `type_in`."""
