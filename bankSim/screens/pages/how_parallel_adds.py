"""Page: How parallel adds."""

from bankSim.screens.frame import foot, head
from bankSim.screens.lesson.show_lesson import show_lesson

head("How parallel adds", "Seven small banks. Guess first, then let the solver answer.")
show_lesson()
foot()
