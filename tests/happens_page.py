"""Reads pages for tests."""


def html_of(at):
    """Return all HTML of a page."""
    return "\n".join(one.proto.body for one in at.get("html"))
