"""One module per command; each returns an exit code."""
