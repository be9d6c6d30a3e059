"""What a learner has learnt, from the record alone: `standing` (done, kept, due again), `progress` and `recall`."""
