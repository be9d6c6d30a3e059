"""The figures of a report, without markup: statistics, fairness, similarity, predictions."""
