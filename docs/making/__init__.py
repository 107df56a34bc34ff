"""What `docs/make.py` is made of."""
