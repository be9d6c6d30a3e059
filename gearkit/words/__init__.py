"""The words of the kit: closed vocabularies, errors, and where the shipped files lie."""
