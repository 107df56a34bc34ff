"""How fast the solver is beside others at equal error, how it grows, how soon it answers.

``python -m benchmarks`` from the project's top folder; ``--short`` for a quick look.
"""
