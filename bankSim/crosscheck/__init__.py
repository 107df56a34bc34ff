"""The same bank solved by other means: SPICE, and a slow plain twin through SciPy."""
