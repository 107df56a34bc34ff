"""Page: What happens."""

from bankSim.screens import warm_up
from bankSim.screens.frame import foot, head
from bankSim.screens.happens.page import show

head("What happens", "What this bank will give, who cuts out first and why, and what to beware of.")
warm_up.hold()
show()
foot()
