"""Page: Report."""

from bankSim.screens.frame import foot, head

head("Report", "")
foot()
