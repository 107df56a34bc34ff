"""Compiled numerics: the network, one step of a cell, the march through time.

Numbers and arrays in, numbers and arrays out: no files, clocks, random numbers or exceptions.
Importing this package chooses a cache folder first (see `bankSim.kernels.cache`).
"""

from bankSim.kernels.cache import choose_cache_folder

choose_cache_folder()
