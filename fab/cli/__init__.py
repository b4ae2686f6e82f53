"""The command line: argv to one call, progress and exit codes."""
