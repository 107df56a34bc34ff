"""Functions of numbers in (0, 1) whose Sobol' indices are known in closed form."""

import numpy as np


def answers_of(function, design, points):
    """The function at the first points of a design; (points, design.rows)."""
    rows = points * design.rows
    return function(design.chances(0, rows)).reshape(points, design.rows)


class Ishigami:
    """sin x1 + a sin^2 x2 + b x3^4 sin x1, each x even in -pi to pi."""

    a, b = 7.0, 0.1

    def __call__(self, chances):
        x = np.pi * (2.0 * chances - 1.0)
        return np.sin(x[:, 0]) * (1.0 + self.b * x[:, 2] ** 4) + self.a * np.sin(x[:, 1]) ** 2

    def indices(self):
        """First-order and total: Ishigami and Homma (1990); by hand, E[x^4] = pi^4 / 5."""
        one = 0.5 * (1.0 + self.b * np.pi**4 / 5.0) ** 2
        two = self.a**2 / 8.0
        both = self.b**2 * np.pi**8 * 8.0 / 225.0
        variance = one + two + both
        return np.array([one, two, 0.0]) / variance, np.array([one + both, two, both]) / variance


class Product:
    """Product of (|4 x - 2| + a) / (1 + a) (Sobol's g-function)."""

    def __init__(self, *a):
        self.a = np.array(a)

    def __call__(self, chances):
        return np.prod((np.abs(4.0 * chances - 2.0) + self.a) / (1.0 + self.a), axis=1)

    def known(self, *places):
        """Part of the variance that goes when these are known: each factor has mean 1."""
        each = 1.0 / 3.0 / (1.0 + self.a) ** 2
        return (np.prod(1.0 + each[list(places)]) - 1.0) / (np.prod(1.0 + each) - 1.0)

    def total(self, *places):
        others = [n for n in range(len(self.a)) if n not in places]
        return 1.0 - self.known(*others)
