"""Markdown of tasks and comments as safe HTML; the same for lessons and reports, so the code lies with the kit's words."""

from gearkit.words.markdown import inline, to_html

__all__ = ["inline", "to_html"]
