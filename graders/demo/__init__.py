"""The whole job on an invented class: sheet, copies, submissions of every kind, marks, feedback and report."""
