"""Page: My test."""

from bankSim.screens.frame import foot, head
from bankSim.screens.my_test.steps import show_steps

head(
    "My test",
    "Bring the logs of your own tests: what a battery really holds, which cell ended it, "
    "and whether the bank did what was predicted.",
)
show_steps()
foot()
