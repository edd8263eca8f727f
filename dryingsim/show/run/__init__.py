"""One batch run: its answers, its files, its pictures."""
