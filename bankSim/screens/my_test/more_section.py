"""Short questions beside the five steps."""

from bankSim.screens.my_test.shelf import Shelf


def show_more(shelf: Shelf) -> None:
    """Show them."""
