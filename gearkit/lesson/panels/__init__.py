"""Live panels: the kernel sends numbers once, the browser computes and draws, and every state can be read from Python."""
