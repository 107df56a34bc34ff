"""Page: What happens."""

from bankSim.screens.frame import foot, head

head("What happens", "")
foot()
