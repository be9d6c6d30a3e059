"""The items on trains with several drivers or outputs: lessons 14 and 15."""
