"""The untrusted side: gets the texts of the answers out of a handed-in notebook, by reading or by running it."""
