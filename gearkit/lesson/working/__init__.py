"""What a lesson works out: results as tables, the switch for the Python, what is said after a prediction; import from its modules."""
