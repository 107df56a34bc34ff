"""The page My test: the visitor's own logs, and what they say."""
