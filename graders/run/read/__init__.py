"""Finding a handed-in notebook, reading its cells, and taking plain answers from their source without running them."""
