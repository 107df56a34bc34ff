"""Logs in: reading, capacity test, calibration. Nothing here yet; the room is kept for it."""
