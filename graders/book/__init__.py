"""The class's book of marks: the records of marking, and everything that knows nbgrader or SQL."""
