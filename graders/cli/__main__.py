"""Lets `python -m graders.cli` do what the command `graders` does."""

from graders.cli.main import main

raise SystemExit(main())
