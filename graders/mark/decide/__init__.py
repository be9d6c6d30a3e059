"""What people decide about marks, and how it is applied on top of the marker's own."""
