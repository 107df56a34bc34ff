"""What if: what can be moved, what it writes, and what comes out differently."""
