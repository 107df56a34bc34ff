"""Page: What if."""

from bankSim.screens.desk import desk
from bankSim.screens.frame import foot, head
from bankSim.screens.warm_up import hold
from bankSim.screens.what_if.page import show

head("What if", "Move something and see at once what it changes. Your bank stays as it is.")
hold()
show(desk())
foot()
