"""Logs in: reading, capacity test, cut-out snapshot, calibration, comparison, gauge, planning."""
