"""The solid train live: the panel of the cutaway for a notebook, and the page that stands alone."""
