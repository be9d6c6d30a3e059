"""Charts and plots: application chart, ratios and steps, speeds, bars, lines over an axis."""
