"""The command line: one module per command, no heavy import at the top."""
