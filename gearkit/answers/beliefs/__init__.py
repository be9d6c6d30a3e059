"""Ideas behind wrong answers: what each makes of every exercise, and which of them explains a whole sheet."""
