"""Many runs: draws, distributions, sweeps. Nothing here yet; the room is kept for it."""
