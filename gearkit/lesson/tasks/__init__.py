"""Prediction tasks: what can be set, what is asked, what is shown before the reveal, and what comes out."""
