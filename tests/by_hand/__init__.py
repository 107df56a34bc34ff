"""A run held against the laws of its parts, worked out by hand from what the result tells.

Nothing of the solver is used: only the bank as it was given, the rows of the timeline with those
around every switching, the events and the totals. What is found wrong comes back as sentences.
"""
