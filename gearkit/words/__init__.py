"""The words of the kit: closed vocabularies, errors, messages in the reader's language, and where the shipped files lie."""
