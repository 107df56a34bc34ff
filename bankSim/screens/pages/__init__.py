"""One file a page; the router runs them."""
