"""The trusted side: compares answers, keeps the marks and writes the gradebook. Learner code never runs here."""
