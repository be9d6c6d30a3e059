"""A whole train to print: parts that slide together along the axis, checked as meshes before anything is written."""
