"""The command `gearkit`: reads the words of a command line, calls the package, prints.."""
