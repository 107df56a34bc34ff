"""Snapshots and comparisons to be told."""

from bankSim.measured.deeper import compare_depth
from bankSim.measured.snapshot_answer import Given, answer_typed
from bankSim.measured.typed_sides import TypedSides, sides_of
from bankSim.measured.typed_voltages import typed_groups
from bankSim.show.printing import story_text
from bankSim.show.snapshot_story import snapshot_answer


def answered(words="2.31 2.52 2.47 2.38", **more):
    plain = {
        "chemistry": "LFP", "rated_Ah": 150.0, "current_A": None, "limit_V": None,
        "temperature_C": None, "rest_s": None, "meter_V": 0.010,
    }  # fmt: skip
    groups, told = typed_groups(words.split())
    return answer_typed(groups, Given(**{**plain, **more}), told)


def flat(story):
    return " ".join(story_text(story).split())


def told(words="2.31 2.52 2.47 2.38", **more):
    return flat(snapshot_answer(answered(words, **more)).story)


def compared(**more):
    plain = {
        "cells": "2.50 2.60 2.55 2.52 / 2.21 2.35 2.30 2.40", "given_Ah": "148 / 160",
        "mass_kg": "16 / 16", "given_Wh": None, "current_A": None, "names": None,
        "chemistry": None, "meter_V": 0.010, "temperature_C": None,
    }  # fmt: skip
    (one, two), words = sides_of(TypedSides(**{**plain, **more}))
    return compare_depth(one, two, told=words)
