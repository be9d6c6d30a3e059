"""Live panels of trains beyond one input and one output; import from the modules."""
