"""Marking with many hands: worker processes, their pool, and a cluster."""
