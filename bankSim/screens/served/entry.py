"""What the server runs for each visitor, started by `banksim app`."""

from bankSim.screens.router import show

show()
