"""The rule for docstrings of public names, checked by reading the code without running it.

Every public module, class, function and method has a docstring. Every number that a public function
takes or returns, or a public class has as a field, has its unit: in its name (``capacity_Ah``), as
a name that is a pure number by itself (``confidence``), or in the docstring: in square brackets
(``[A]``, ``[1]``, ``[unit of x]``) or in words ("in the unit of the key", "in SI"). A unit counts
for the entry of the parameter or result that it stands in; in a docstring without such entries one
counts for all. "Number" is what is annotated as float or as an array of floats; counts, indices and
truth values need no unit. Kernels have no annotations: there every entry called float or array (but
"array of int") needs a unit, or names columns of which ``kernels/arrays.py`` gives the unit; and a
kernel without entries that returns something says its unit, or that it tells, finds or returns a
status, a number, an index.
"""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

NUMBER = re.compile(r"\b(float|Floats|ArrayLike|np\.float64|np\.ndarray)\b")
NO_NUMBER = re.compile(r"Callable\[.*\]|TypeGuard\[.*\]|Iterator\[None\]")
UNIT = (
    "(?:V|mV|uV|A|mA|Ah|Wh|kWh|W|kW|ohm|mohm|s|ms|min|h|days|K|C|degC|J|F|kg|g|m|mm|mm2|percent|"
    "points|px|pt|in|inches|dpi)"
)
NAMED_UNIT = re.compile(rf"(?:^|_){UNIT}(?:_(?:mol|per)_?{UNIT}?|_per_\w+|_{UNIT})?$")
PURE = re.compile(
    r"(?:^|_)(?:confidence|chances?|exponent|factors?|fractions?|shares?|ratios?|tolerances?|rtol|"
    r"seconds|hours|volts|amps|state_of_charge|parts?|weights?|degrees_of_freedom|sds|seed)$"
)
# [V], [1], [V/s], [unit of x], [A, or s]; never an index, a list or a citation: a[i], [12].
UNIT_SAID = re.compile(
    r"(?<![\w\]`])\[(?!\d{2,}\])[^\[\]=]{1,60}\]"
    r"|\b[Ii]n\s+(?:(?:the|its|their|that) )?(?:units? of\b|units?[.,;:]|`\w*unit`|SI\b)"
)
ENTRY = re.compile(r"^(\w[\w, *]*?) ?:(?: |$)")
KERNEL_COLUMNS = re.compile(r"\b[A-Z]{2}[A-Z_]+\b")
COUNTED = re.compile(
    r"^(?:Tell|Find|Count|Mark)\b|^Returns?\b.*\b(?:bits|digits|rows|events)\b"
    r"|\b(?:status|index|how many|their number|whether|OK|or -1|False)\b"
)


@dataclass(frozen=True)
class Fault:
    """What is missing, and where."""

    place: str
    lacks: str

    def __str__(self) -> str:
        return f"{self.place}: {self.lacks}"


def is_number(annotation: ast.expr | None) -> bool:
    """Tell whether an annotation stands for a float or an array of floats."""
    return annotation is not None and bool(
        NUMBER.search(NO_NUMBER.sub("", ast.unparse(annotation)))
    )


def carries_unit(name: str) -> bool:
    """Tell whether a name says the unit of its number, or that it has none."""
    return bool(NAMED_UNIT.search(name) or PURE.search(name))


def entries(text: str, section: str) -> dict[str, str]:
    """Return the entries of one numpy section: names in the heading line, and all of its text."""
    found = re.search(rf"^{section}\n-+\n(.*?)(?=\n\n\w[^\n]*\n---|\Z)", text, re.M | re.S)
    result: dict[str, str] = {}
    names: list[str] = []
    for line in found.group(1).split("\n") if found else ():
        if line and not line.startswith(" "):
            head = ENTRY.match(line)
            names = [n.strip("* ") for n in (head.group(1) if head else line).split(",")]
        for name in names:
            result[name] = result.get(name, "") + line + "\n"
    return result


def lacking(function: ast.FunctionDef, text: str) -> Iterator[str]:
    """Yield the numbers of an annotated function that have no unit."""
    spec = function.args
    given, answered = entries(text, "Parameters"), entries(text, "Returns")
    anywhere = bool(UNIT_SAID.search(text))
    for one in (*spec.posonlyargs, *spec.args, *spec.kwonlyargs):
        if is_number(one.annotation) and not carries_unit(one.arg):
            stands = bool(UNIT_SAID.search(given.get(one.arg, ""))) if given else anywhere
            if not stands:
                yield f"unit of `{one.arg}`"
    if is_number(function.returns) and not carries_unit(function.name):
        where = "".join(answered.values()) if answered else text
        if not UNIT_SAID.search(where):
            yield "unit of what it returns"


def lacking_fields(one: ast.ClassDef, text: str) -> Iterator[str]:
    """Yield the fields of a class that are numbers without a unit."""
    if any(ast.unparse(base) == "Table" for base in one.bases):
        return  # keys of the scenario file: every one has a `Quantity` with its unit
    given = entries(text, "Parameters")
    for field in one.body:
        if not isinstance(field, ast.AnnAssign) or not isinstance(field.target, ast.Name):
            continue
        name = field.target.id
        plain = name.startswith("_") or carries_unit(name) or not is_number(field.annotation)
        if not plain and not UNIT_SAID.search(given.get(name, "") if given else text):
            yield f"unit of `{name}`"


def lacking_in_kernel(function: ast.FunctionDef, text: str) -> Iterator[str]:
    """Yield the numbers of a kernel that have no unit."""
    found = False
    for section in ("Parameters", "Returns"):
        for name, entry in entries(text, section).items():
            found = True
            number = re.search(r":.*\b(float|array)\b(?! of int)", entry.split("\n")[0])
            said = UNIT_SAID.search(entry) or KERNEL_COLUMNS.search(entry)
            if number and not said and not carries_unit(name):
                yield f"unit of `{name}`"
    answers = any(isinstance(n, ast.Return) and n.value is not None for n in ast.walk(function))
    if found or not answers or carries_unit(function.name):
        return
    if not UNIT_SAID.search(text) and not COUNTED.search(text):
        yield "unit of what it returns"


def faults_of(code: str, place: str, *, kernel: bool = False) -> Iterator[Fault]:
    """Yield what the docstrings of one file lack."""
    tree = ast.parse(code)
    if not ast.get_docstring(tree):
        yield Fault(place, "docstring")
    yield from _faults_in(tree, place, kernel)


def _faults_in(node: ast.Module | ast.ClassDef, place: str, kernel: bool) -> Iterator[Fault]:
    for one in node.body:
        if not isinstance(one, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        if one.name.startswith("_"):
            continue
        here, text = f"{place} {one.name}", ast.get_docstring(one) or ""
        if not text:
            yield Fault(here, "docstring")
        if isinstance(one, ast.ClassDef):
            if not kernel:  # kernels/arrays.py tells the unit of every field beside it
                yield from (Fault(here, what) for what in lacking_fields(one, text))
            yield from _faults_in(one, here, kernel)
        elif isinstance(one, ast.FunctionDef):
            rule = lacking_in_kernel if kernel else lacking
            yield from (Fault(here, what) for what in rule(one, text))


def faults_under(folder: Path) -> list[Fault]:
    """Return what the docstrings of a package lack."""
    found: list[Fault] = []
    for file in sorted(folder.rglob("*.py")):
        place = str(file.relative_to(folder))
        code = file.read_text(encoding="utf-8")
        found += faults_of(code, place, kernel=place.startswith("kernels/"))
    return found
