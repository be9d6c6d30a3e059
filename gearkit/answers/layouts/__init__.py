"""What families of items ask of any layout: its facts, drawn tooth counts, words, hints, and what common mistakes give."""
