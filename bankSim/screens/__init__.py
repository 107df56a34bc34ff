"""The pages on the screen. Nothing here yet; the room is kept for it."""
