"""Changes a module in small ways, one at a time, and counts which changes no test notices.

``python tests/mutants.py bankSim.kernels.network tests/kernels/test_network.py`` runs the tests
named on each change of one module, kernels uncompiled (``--compiled`` leaves them compiled, for a
module that only calls them), in a process of its own. It prints the changes that survive; each is
either a gap in the tests or changes nothing that can be seen (DEVELOPERS.md).

Tests are collected once and run once on the module as it is, which tells the lines that each of
them passes and how long it takes. A change is then shown to the tests that pass its lines, those
first that have found most changes for their time; the first that fails ends it.
"""

import argparse
import ast
import copy
import importlib
import inspect
import os
import random
import signal
import sys
import time
import types
from collections import Counter
from pathlib import Path

if "--compiled" not in sys.argv:
    os.environ["NUMBA_DISABLE_JIT"] = "1"

import pytest
from _pytest.runner import runtestprotocol

OTHER_COMPARISON = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
}
OTHER_OPERATOR = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr,
}
OTHER_NAME = {"min": "max", "max": "min"}
KILLED, SURVIVED, SLOW = "killed", "survived", "killed by time"


def changes_of(node):
    """Return what may stand in place of a node: (words, new node) each."""
    found = []
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        for other in OTHER_COMPARISON.get(type(node.ops[0]), ()):
            found.append(ast.Compare(node.left, [other()], node.comparators))
    if isinstance(node, ast.BinOp) and type(node.op) in OTHER_OPERATOR:
        found.append(ast.BinOp(node.left, OTHER_OPERATOR[type(node.op)](), node.right))
    if isinstance(node, ast.BoolOp):
        other = ast.Or if isinstance(node.op, ast.And) else ast.And
        found.append(ast.BoolOp(other(), node.values))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        found.append(node.operand)
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        value = node.value
        found.append(ast.Constant(1 - value if value in (0, 1) else value * 2))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        if node.func.id in OTHER_NAME:
            found.append(ast.Call(ast.Name(OTHER_NAME[node.func.id], ast.Load()), node.args, []))
        if node.func.id == "abs":
            found.append(node.args[0])
    if isinstance(node, ast.Assign | ast.AugAssign) or (
        isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)
    ):
        found.append(ast.Pass())
    if isinstance(node, ast.AugAssign):
        other = OTHER_OPERATOR.get(type(node.op))
        if other is not None:
            found.append(ast.AugAssign(node.target, other(), node.value))
    if isinstance(node, ast.Continue):
        found.append(ast.Break())
    if isinstance(node, ast.Break):
        found.append(ast.Continue())
    return found


def places_of(tree):
    """Return (path of fields, line, old, new) of all changes inside functions."""
    found = []

    def walk(node, path):
        for other in changes_of(node):
            ast.copy_location(other, node)
            found.append((path, node.lineno, ast.unparse(node), other))
        for name, value in ast.iter_fields(node):
            if name in ("decorator_list", "annotation"):
                continue
            items = value if isinstance(value, list) else [value]
            for place, item in enumerate(items):
                if isinstance(item, ast.AST):
                    walk(item, (*path, (name, place if isinstance(value, list) else None)))

    for path, node in statements_of(tree):
        start = len(found)
        walk(node, path)
        found[start:] = [one for one in found[start:] if len(one[0]) > len(path)]
    return found


def statements_of(tree):
    """Return (path of fields, node) of what may be changed: functions, constants, methods."""
    found = []
    for place, node in enumerate(tree.body):
        path = (("body", place),)
        if isinstance(node, ast.FunctionDef | ast.Assign):
            found.append((path, node))
        if isinstance(node, ast.ClassDef):
            found += [
                ((*path, ("body", inner)), method)
                for inner, method in enumerate(node.body)
                if isinstance(method, ast.FunctionDef)
            ]
    return found


def statement_at(tree, path):
    """Return (path, node) of the function, constant or method that a path of fields leads into."""
    return next(one for one in statements_of(tree) if one[0] == path[: len(one[0])])


def changed(tree, path, other):
    """Return a copy of a tree with one node replaced."""
    tree = copy.deepcopy(tree)
    node = tree
    for name, place in path[:-1]:
        value = getattr(node, name)
        node = value if place is None else value[place]
    name, place = path[-1]
    if place is None:
        setattr(node, name, other)
    else:
        getattr(node, name)[place] = other
    return ast.fix_missing_locations(tree)


def passes(item, following=None):
    """Run one collected test; tell whether it passes."""
    return not any(r.failed for r in runtestprotocol(item, log=False, nextitem=following))


def passed_lines(items, file):
    """Run all tests; return the lines of a file that each passes, and its time. [s]"""
    seen = set()

    def inside(frame, event, _):
        if event == "line":
            seen.add(frame.f_lineno)
        return inside

    def enter(frame, _event, _):
        return inside if frame.f_code.co_filename == str(file) else None

    lines, spent_s = {}, {}
    for item, following in zip(items, [*items[1:], None], strict=True):
        seen.clear()
        began = time.monotonic()
        sys.settrace(enter)
        fine = passes(item, following)
        sys.settrace(None)
        if not fine:
            sys.exit(f"a test fails on the module as it is: {item.nodeid}")
        lines[item], spent_s[item] = set(seen), time.monotonic() - began
    return lines, spent_s


def code_named(code, name):
    """Return the code of a function or class that stands right inside other code."""
    (found,) = (
        one for one in code.co_consts if isinstance(one, types.CodeType) and one.co_name == name
    )
    return found


def put_in_force(module, file, tree, path):
    """Put the changed statement of a module in force, wherever its name has been imported."""
    code, (at, statement) = compile(tree, str(file), "exec"), statement_at(tree, path)
    if len(at) > 1:
        name = node_of(tree, at[:1]).name
        method = inspect.getattr_static(getattr(module, name), statement.name)
        method = getattr(method, "fget", None) or getattr(method, "func", None) or method
        method = getattr(method, "__func__", method)
        inspect.unwrap(method).__code__ = code_named(code_named(code, name), statement.name)
        return
    if isinstance(statement, ast.FunctionDef):
        function = inspect.unwrap(getattr(module, statement.name))
        function.__code__ = code_named(code, statement.name)
        return
    space = dict(module.__dict__)
    exec(code, space)
    for node in ast.walk(statement):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            old = module.__dict__[node.id]
            for other in list(sys.modules.values()):
                if getattr(other, "__dict__", {}).get(node.id) is old:
                    setattr(other, node.id, space[node.id])


class Hunt:
    """Takes the place of the usual run of the tests that pytest has collected."""

    def __init__(self, asked):
        self.asked = asked
        self.finds = Counter()

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        """Change the module again and again; print what survives, and a count."""
        asked = self.asked
        module = importlib.import_module(asked.module)
        file = Path(module.__file__)
        tree = ast.parse(file.read_text(encoding="utf-8"))
        places = places_of(tree)
        chosen = random.Random(asked.seed).sample(places, min(asked.most, len(places)))
        began = time.monotonic()
        lines, spent_s = passed_lines(list(session.items), file)
        say(f"{asked.module}: {len(places)} changes possible, {len(chosen)} drawn; "
            f"{len(lines)} tests, {time.monotonic() - began:.0f} s")  # fmt: skip
        counts = Counter()
        for path, line, old, other in chosen:
            if time.monotonic() - began > asked.until_s:
                break
            statement = statement_at(tree, path)[1]
            tests = self.chosen_for(node_of(tree, path), statement, lines, spent_s)
            fate = self.fate_of(module, file, changed(tree, path, other), path, tests)
            counts[fate] += 1
            if fate == SURVIVED:
                say(f"  {file.name}:{line}: {old}  ->  {ast.unparse(other)}  ({len(tests)} tests)")
        say(f"{asked.module}: {dict(counts)} in {time.monotonic() - began:.0f} s")
        return True

    def chosen_for(self, node, statement, lines, spent_s):
        """Return the tests that pass the lines of a node, in the order to run them."""
        span = set(range(node.lineno, node.end_lineno + 1))
        alike = not isinstance(statement, ast.FunctionDef)  # a constant may be read by anyone
        tests = [one for one in lines if alike or lines[one] & span]
        tests = [one for one in tests if spent_s[one] <= self.asked.test_s]
        return sorted(tests, key=lambda t: (-self.finds[t] / (spent_s[t] + 0.05), spent_s[t]))

    def fate_of(self, module, file, tree, path, tests):
        """Run tests on a change in a process of its own."""
        reader, writer = os.pipe()
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGALRM, signal.SIG_DFL)
            signal.alarm(self.asked.most_s)
            put_in_force(module, file, tree, path)
            for place, test in enumerate(tests):
                if not passes(test, tests[place + 1] if place + 1 < len(tests) else None):
                    os.write(writer, str(place).encode())
                    os._exit(1)
            os._exit(0)
        os.close(writer)
        with os.fdopen(reader) as told:
            place = told.read()
        _, status = os.waitpid(child, 0)
        if place:
            self.finds[tests[int(place)]] += 1
        if os.WIFSIGNALED(status):
            return SLOW
        return SURVIVED if os.WEXITSTATUS(status) == 0 else KILLED


def node_of(tree, path):
    """Return the node at a path of fields."""
    node = tree
    for name, place in path:
        node = getattr(node, name) if place is None else getattr(node, name)[place]
    return node


def say(line):
    """Print a line past what pytest captures."""
    os.write(OUT, f"{line}\n".encode())


def main(argv=None):
    """Read the command line and hand over to pytest."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("module")
    parser.add_argument("tests", nargs="+")
    parser.add_argument("--compiled", action="store_true", help="leave kernels compiled")
    parser.add_argument("--most", type=int, default=10_000, help="changes drawn at random")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most-s", type=int, default=120, help="for the tests of one change")
    parser.add_argument("--test-s", type=float, default=1e9, help="leave out longer tests")
    parser.add_argument("--until-s", type=float, default=1e9, help="for all of them")
    asked = parser.parse_args(argv)
    quiet = [
        "-o",
        "addopts=",
        "-p",
        "no:cacheprovider",
        "-p",
        "no:randomly",
        "-p",
        "no:terminal",
    ]
    return pytest.main([*quiet, "-p", "no:warnings", *asked.tests], plugins=[Hunt(asked)])


if __name__ == "__main__":
    OUT = os.dup(1)
    sys.exit(main())
