"""Lessons 1 to 4: gears and one planetary set."""
