"""A whole taught and marked unit from any layout: lesson, graded sheet, practice, handout, overview; import `unit`."""
