"""Predicts what a mixed parallel bank of batteries will really do."""
