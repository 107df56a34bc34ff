"""The guided lesson: small banks of its own, a guess first, then what the solver says."""
