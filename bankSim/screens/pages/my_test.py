"""Page: My test."""

from bankSim.screens.frame import foot, head

head("My test", "")
foot()
