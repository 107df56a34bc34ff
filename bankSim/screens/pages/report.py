"""Page: Report."""

from bankSim.screens import warm_up
from bankSim.screens.frame import foot, head
from bankSim.screens.report.page import show

head("Report", "One file to read, print and send, with all numbers beside it.")
warm_up.hold()
show()
foot()
