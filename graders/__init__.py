"""graders: compose sheets, hand them out, mark what comes back, and report."""
