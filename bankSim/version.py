"""The version of this package: the one place, pyproject.toml reads it here."""

__version__ = "0.1.0"
