"""Before the lesson: the course folder, the class list, the sheet and each learner's copy."""
