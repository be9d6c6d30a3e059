"""What stands between learner code and everything else: its layers, their choice, the proof by attack, and the Linux calls."""
