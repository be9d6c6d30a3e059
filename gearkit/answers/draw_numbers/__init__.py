"""Each learner's own numbers: the seeded random source, tooth counts to draw from, and variants. Outside ask `variants`."""
