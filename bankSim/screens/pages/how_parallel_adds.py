"""Page: How parallel adds."""

from bankSim.screens.frame import foot, head
from bankSim.screens.lesson.show_lesson import show_lesson

head("How parallel adds", "Seven small banks. Guess first, then see what the solver says.")
show_lesson()
foot()
