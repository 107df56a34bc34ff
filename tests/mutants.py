"""Changes the kernels in small ways, one at a time, and counts which changes no test notices.

``python tests/mutants.py bankSim.kernels.network tests/kernels/test_network.py`` runs the tests
named on each change of one module, uncompiled, in a process of its own. It prints the changes that
survive; each is either a gap in the tests or changes nothing that can be seen (DEVELOPERS.md).
"""

import argparse
import ast
import copy
import importlib
import importlib.util
import os
import random
import signal
import sys
import time
from importlib.abc import Loader, MetaPathFinder
from pathlib import Path

os.environ["NUMBA_DISABLE_JIT"] = "1"

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

    for place, node in enumerate(tree.body):
        if isinstance(node, ast.FunctionDef | ast.Assign):
            walk(node, (("body", place),))
    return [one for one in found if len(one[0]) > 1]


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


class Swap(MetaPathFinder, Loader):
    """Gives one module another text."""

    def __init__(self, name, file, tree):
        self.name, self.file, self.tree = name, file, tree

    def find_spec(self, name, path=None, target=None):
        if name != self.name:
            return None
        return importlib.util.spec_from_loader(name, self, origin=str(self.file))

    def exec_module(self, module):
        module.__file__ = str(self.file)
        exec(compile(self.tree, str(self.file), "exec"), module.__dict__)


def fate_of(name, file, tree, tests, most_s):
    """Run the tests on a change in a process of its own."""
    child = os.fork()
    if child == 0:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        sys.meta_path.insert(0, Swap(name, file, tree))
        import pytest

        signal.alarm(most_s)
        code = pytest.main(["-q", "-x", "-p", "no:cacheprovider", "-p", "no:randomly", *tests])
        os._exit(0 if code == 0 else 1)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return SLOW
    return SURVIVED if os.WEXITSTATUS(status) == 0 else KILLED


def main(argv=None):
    """Change a module again and again; print what survives, and a count."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("module")
    parser.add_argument("tests", nargs="+")
    parser.add_argument("--most", type=int, default=10_000, help="changes drawn at random")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most-s", type=int, default=120, help="for the tests of one change")
    parser.add_argument("--until-s", type=float, default=1e9, help="for all of them")
    asked = parser.parse_args(argv)
    file = Path(*asked.module.split(".")).with_suffix(".py").resolve()
    tree = ast.parse(file.read_text(encoding="utf-8"))
    places = places_of(tree)
    chosen = random.Random(asked.seed).sample(places, min(asked.most, len(places)))
    for heavy in ("numpy", "scipy.optimize", "scipy.integrate", "numba", "pydantic", "pandas",
                  "hypothesis", "pytest"):  # fmt: skip
        importlib.import_module(heavy)
    counts = dict.fromkeys((KILLED, SLOW, SURVIVED), 0)
    began = time.monotonic()
    fine = fate_of(asked.module, file, tree, asked.tests, 10 * asked.most_s)
    if fine != SURVIVED:
        sys.exit("the tests fail on the module as it is")
    print(f"{asked.module}: {len(places)} changes possible, {len(chosen)} drawn; "
          f"unchanged {time.monotonic() - began:.0f} s", flush=True)  # fmt: skip
    for path, line, old, other in chosen:
        if time.monotonic() - began > asked.until_s:
            break
        fate = fate_of(asked.module, file, changed(tree, path, other), asked.tests, asked.most_s)
        counts[fate] += 1
        if fate == SURVIVED:
            print(f"  {file.name}:{line}: {old}  ->  {ast.unparse(other)}", flush=True)
        print(f"  {sum(counts.values())} tried, {counts[SURVIVED]} survived", file=sys.stderr)
    print(f"{asked.module}: {counts} in {time.monotonic() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()
