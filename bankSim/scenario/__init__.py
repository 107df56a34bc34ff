"""The file people write: reading, checking, typical values, writing."""
