"""Running cells: the warm shell, the real kernel as reference, and the protocol by which answers come out."""
