"""The page Report: asks what goes in, makes it, hands it over."""
