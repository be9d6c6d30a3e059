"""How the words of a unit are put: cells in the house's lengths, numbers and plurals, no sentence too often."""
