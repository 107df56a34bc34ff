"""Every key and array item is found on its own line."""

from bankSim.scenario.lines import line_numbers

TEXT = '''# comment with [brackets] and key = 1
title = "a # b [c]"
notes = """
[[not a table]]
x = 1 \\""" still
"""
path = 'C:\\'   # literal
deep.er."quoted.key" = 1
when = 2020-01-01 10:00:00
[surroundings]
temperature_C = { mean_C = 22, "swing_C" = 8 }
[[battery]]
name = "one"
lead = { length_m = 1, inner = { x = [1, 2] } }
[battery.cell]
relaxation = [
    { mohm = 1, time_constant_s = 2 },  # first ]
    # between
    { mohm = 3, time_constant_s = 4 },
]
[[battery.cells]]
[[battery.cells]]
state_of_charge = 0.5
[[ battery ]]
  [ battery . cell ]
  capacity_Ah = 1
[[battery.cells]]
ohmic_mohm = 2
[[battery.protection]]
watches = "x"
active = [[1, 2],
  [3, 4]]
'''


def test_lines_of_everything():
    found = line_numbers(TEXT)
    expected = {
        ("title",): 2,
        ("notes",): 3,
        ("path",): 7,
        ("deep", "er", "quoted.key"): 8,
        ("when",): 9,
        ("surroundings",): 10,
        ("surroundings", "temperature_C", "swing_C"): 11,
        ("battery",): 12,
        ("battery", 0): 12,
        ("battery", 0, "name"): 13,
        ("battery", 0, "lead", "inner", "x", 1): 14,
        ("battery", 0, "cell"): 15,
        ("battery", 0, "cell", "relaxation"): 16,
        ("battery", 0, "cell", "relaxation", 0, "mohm"): 17,
        ("battery", 0, "cell", "relaxation", 1): 19,
        ("battery", 0, "cell", "relaxation", 1, "time_constant_s"): 19,
        ("battery", 0, "cells", 0): 21,
        ("battery", 0, "cells", 1): 22,
        ("battery", 0, "cells", 1, "state_of_charge"): 23,
        ("battery", 1): 24,
        ("battery", 1, "cell", "capacity_Ah"): 26,
        ("battery", 1, "cells", 0, "ohmic_mohm"): 28,
        ("battery", 1, "protection", 0, "watches"): 30,
        ("battery", 1, "protection", 0, "active", 1, 1): 32,
    }
    assert {path: found.get(path) for path in expected} == expected


def test_text_that_is_not_toml_gives_what_was_found():
    assert line_numbers("a = 1\n= 3") == {("a",): 1}
    assert line_numbers("a = [") == {("a",): 1}
