"""Page: What if."""

from bankSim.screens.frame import foot, head

head("What if", "")
foot()
