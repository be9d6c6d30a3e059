"""The command `graders`: it reads the command line, calls one function, and prints what came out."""

from graders.cli.main import main

__all__ = ["main"]
