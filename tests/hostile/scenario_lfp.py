"""The smallest ordinary battery."""

LFP = """
[[battery]]
name = "house"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
"""
