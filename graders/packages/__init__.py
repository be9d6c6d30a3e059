"""Items packed for other systems by an open standard (QTI). Import `package`."""
