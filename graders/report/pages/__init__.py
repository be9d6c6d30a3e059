"""The pages: class report, course report, feedback; their frame, plots and sections."""
