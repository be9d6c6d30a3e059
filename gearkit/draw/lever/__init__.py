"""The lever diagram and levers under load. Outside this folder ask `lever_diagram` and `loaded_levers`."""
