"""The course as a whole, for one learner: `overview`, the home page, back and next, the record of completion."""
