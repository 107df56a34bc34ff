"""Page: Your bank."""

from bankSim.screens.bank.page import show_page
from bankSim.screens.frame import foot, head

head("Your bank", "Say what batteries you have, how they are wired and what draws from them.")
show_page()
foot(leads_on=False)
