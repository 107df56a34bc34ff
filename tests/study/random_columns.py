"""Random numbers in place of those of a bank, for every field that draws may differ in."""

import numpy as np

from bankSim.study.fields import Field, base_columns

SOLID = (Field.SOC, Field.AVAILABLE, Field.THRESHOLD, Field.LET_GO, Field.TEMPERATURE, Field.HOLD)


def random_columns(bank, seed, draws, fields=tuple(Field)):
    """Return columns of some fields; whatever is 0 in the bank stays 0."""
    rng, base = np.random.default_rng(seed), base_columns(bank)
    below = np.array([rule.below for one in bank.batteries for rule in one.rules], dtype=bool)
    found = {}
    for field in fields:
        own = np.repeat(base[field], draws, axis=0)
        factor = rng.uniform(0.8, 1.25, own.shape)
        if field not in SOLID:
            found[field] = own * factor
        elif field is Field.SOC:
            found[field] = np.clip(own * rng.uniform(0.97, 1.02, own.shape), 0.0, 1.0)
        elif field is Field.AVAILABLE:
            found[field] = np.where(own < 1.0, np.minimum(own * factor, 0.95), 1.0)
        elif field is Field.TEMPERATURE:
            found[field] = own + rng.uniform(-5.0, 5.0, own.shape)
        elif field is Field.HOLD:
            found[field] = own * rng.uniform(0.99, 1.01, own.shape)
        else:  # limits move to the dangerous side, releases to the safe one
            towards = -1.0 if field is Field.THRESHOLD else 1.0
            share = rng.uniform(0.0, 0.01, own.shape)
            found[field] = own * (1.0 + towards * np.where(below, share, -share))
    return found
