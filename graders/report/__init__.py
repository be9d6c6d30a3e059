"""What goes back after marking: figures about items, feedback pages, the class report, and exchange files."""
