"""graders: compose sheets, hand them out, mark what comes back, and report."""

# Settings of courses and of learners' JupyterLab name modules of this package, also by addresses of before; the kit finds
# those once its own package is loaded.
import gearkit  # noqa: F401
