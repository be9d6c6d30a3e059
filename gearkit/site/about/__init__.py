"""The project's own site: what the kit is, guides for instructors and learners, its commands, and its Python."""
