"""What can be done from the command line: one file a command, each with `add` and `run`."""
