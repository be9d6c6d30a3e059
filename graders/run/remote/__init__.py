"""Running cells on another machine: what goes there and what comes back."""
