"""Page: How parallel adds."""

from bankSim.screens.frame import foot, head

head("How parallel adds", "")
foot()
