"""Compiled numerics: the network, one step of a cell, the march through time."""
