"""Page: Your bank."""

from bankSim.screens.frame import foot, head

head("Your bank", "")
foot()
