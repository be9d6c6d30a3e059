"""Sheets out to learners: each learner's copy, exchange folders, packs."""
