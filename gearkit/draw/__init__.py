"""Pictures drawn from the layout data alone, as SVG text from pure Python, each with words that say what it shows."""
