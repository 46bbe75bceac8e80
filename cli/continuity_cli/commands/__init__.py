"""One module for each command, under its name; see `continuity_cli.lazy`."""
