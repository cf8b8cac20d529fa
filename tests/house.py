"""Read the package as source and say where it leaves the rules of the house.

Each rule takes parsed source and gives its faults in words, so that it can be tried on a snippet.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "designer"

#: each row may import the rows above it and its own folder; file -> motor -> … -> sheet -> door
ROOMS = (
    ("errors", "results", "quantities", "spellings", "output"),
    ("tables", "equations"),
    ("project",),
    ("motor",),
    ("waveforms",),
    ("circuits",),
    ("parts",),
    ("control",),
    ("checks",),
    ("tolerance",),
    ("studies",),
    ("sheet",),
    ("cli",),
    ("__main__",),
)
RANK = {room: rank for rank, row in enumerate(ROOMS) for room in row}

#: library -> the only places that may import it
ONLY_IN = {
    "pint": ("quantities", "spellings"),
    "matplotlib": ("sheet",), "jinja2": ("sheet",), "schemdraw": ("sheet",),
    "pydantic": ("project",), "argparse": ("cli",),
}

#: two or more fields, and still positional, with the reason
POSITIONAL = {
    "Quantity": "a number and its unit, read in that order everywhere",
    "Var": "made by var() and constant() alone",
    "constant": "reads as a row: symbol, unit, meaning, value, source",
}
#: modules of designer/circuits that belong to one circuit; the others are shared by all
CIRCUIT_MODULES = {path.stem for path in (PACKAGE / "circuits").glob("*_*.py")} - {
    "run_up", "bus_point", "on_bus", "field_path"}
CIRCUIT_MODULES |= {"rectifier"}
#: module of designer/studies -> the circuits' modules that it may know: each belongs to those circuits alone
KNOWN_CIRCUITS = {
    "phase_cut.py": {"triac_series", "triac_point"}, "phase_bench.py": {"triac_series", "triac_point"},
    "triac_firing.py": {"triac_series"},
    "ripple.py": {"triac_series", "triac_point"},   # the speed moving over the cycle: solved for the triac only so far
    "supply_only.py": {"rectifier"},                # the supply by itself has no motor, so no survey
    "field_only.py": {"field_chopper"},             # likewise the field winding by itself
    "field_design.py": {"field_chopper"},
}
MODULE_LINES, FUNCTION_LINES, ARGUMENTS, BY_PLACE = 300, 40, 6, 4
Function = ast.FunctionDef | ast.AsyncFunctionDef


def sources() -> list[Path]:
    """Every module of the package."""
    return sorted(PACKAGE.rglob("*.py"))


def test_files() -> list[Path]:
    """Every test file and helper."""
    return sorted((ROOT / "tests").rglob("*.py"))


def room(path: Path) -> str:
    """The room that a module of the package stands in; "" for the public face."""
    first = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    return "" if first == "__init__" else first


def imports(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and dotted name of everything imported, inside functions and for types alike."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            yield node.lineno, base
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def _for_types_only(tree: ast.AST) -> set[int]:
    """Lines below ``if TYPE_CHECKING:``."""
    lines: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            lines |= set(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    return lines


def import_faults(tree: ast.AST, here: str) -> list[str]:
    """Imports of a later room, or of a library outside its room."""
    types = _for_types_only(tree)
    faults = []
    for line, name in imports(tree):
        first, _, rest = name.partition(".")
        if first in ONLY_IN and here not in ONLY_IN[first]:
            faults.append(f"line {line}: {name} belongs in {' or '.join(ONLY_IN[first])}")
        there = rest.partition(".")[0]
        if first != "designer" or line in types or here == "" or there not in RANK or there == here:
            continue
        if RANK[there] > RANK[here]:
            faults.append(f"line {line}: {here} comes before {there} and may not know it")
    return sorted(set(faults))


def circuit_faults(tree: ast.AST, name: str) -> list[str]:
    """Modules of one circuit that a study's module ``name`` imports and is not known to need."""
    rooms = {found.split(".")[2] for _, found in imports(tree) if found.startswith("designer.circuits.")}
    one = {room for room in rooms if room in CIRCUIT_MODULES}
    unknown = sorted(one - KNOWN_CIRCUITS.get(name, set()))
    return [f"{name} knows {room}: a study asks a circuit's sides" for room in unknown]


def functions(tree: ast.AST) -> list[Function]:
    """Every function and method, nested ones too."""
    return [node for node in ast.walk(tree) if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))]


def size_faults(tree: ast.Module, lines: int) -> list[str]:
    """A module longer than one sitting, a function longer than one screen, too many arguments."""
    faults = [f"{lines} lines; {MODULE_LINES} is the most"] if lines > MODULE_LINES else []
    exempt = {id(f) for f in functions(tree) if f.name in POSITIONAL}
    inner = {id(f) for outer in functions(tree) for f in functions(outer) if f is not outer}
    for function in functions(tree):
        docstring = function.body[0] if ast.get_docstring(function, clean=False) is not None else None
        length = _span(function) - (_span(docstring) if docstring else 0)
        if length > FUNCTION_LINES:
            faults.append(f"{function.name}: {length} code lines; {FUNCTION_LINES} is the most")
        named = [*function.args.posonlyargs, *function.args.args]
        named = [a for a in named if a.arg not in ("self", "cls")]
        if len(named) + len(function.args.kwonlyargs) > ARGUMENTS:
            faults.append(f"{function.name}: more than {ARGUMENTS} arguments")
        if len(named) > BY_PLACE and _public(function) and id(function) not in inner | exempt:
            faults.append(f"{function.name}: {len(named)} arguments by place; {BY_PLACE} is the most, then by name")
    return faults


def _span(node: ast.stmt) -> int:
    return (node.end_lineno or node.lineno) - node.lineno + 1


def _public(node: Function | ast.ClassDef) -> bool:
    return not node.name.startswith("_")


def habit_faults(tree: ast.Module, here: str) -> list[str]:
    """Bare ``except``, ``**kwargs``, ``print``, star imports, missing docstrings."""
    faults = [] if ast.get_docstring(tree) else ["the module has no docstring"]
    for node in ast.walk(tree):
        if isinstance(node, ast.ExceptHandler) and node.type is None:
            faults.append(f"line {node.lineno}: bare except")
        if isinstance(node, ast.ExceptHandler) and node.type is not None:
            caught = ast.unparse(node.type)
            if caught in ("Exception", "BaseException"):
                faults.append(f"line {node.lineno}: except {caught} hides what it does not know")
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "print" and here not in ("cli", "__main__"):
            faults.append(f"line {node.lineno}: print")
        if isinstance(node, ast.ImportFrom) and any(alias.name == "*" for alias in node.names):
            faults.append(f"line {node.lineno}: star import")
    faults += [f"{f.name}: **{f.args.kwarg.arg}" for f in functions(tree) if f.args.kwarg]
    return faults + docstring_faults(tree)


def docstring_faults(tree: ast.AST) -> list[str]:
    """Public functions, classes and methods without a docstring."""
    faults = []
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)) and _public(node):
            if ast.get_docstring(node) is None:
                faults.append(f"{node.name}: no docstring")
            if isinstance(node, ast.ClassDef):
                faults += docstring_faults(node)
    return faults


def dataclass_faults(tree: ast.AST) -> list[str]:
    """Dataclasses that can change, or whose fields can be mixed up."""
    faults = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.ClassDef):
            continue
        for decorator in node.decorator_list:
            called = decorator.func if isinstance(decorator, ast.Call) else decorator
            if ast.unparse(called) not in ("dataclass", "dataclasses.dataclass"):
                continue
            keywords = decorator.keywords if isinstance(decorator, ast.Call) else []
            said = {k.arg for k in keywords if isinstance(k.value, ast.Constant) and k.value.value is True}
            fields = [part for part in node.body if isinstance(part, ast.AnnAssign)]
            if "frozen" not in said:
                faults.append(f"{node.name}: not frozen")
            if "kw_only" not in said and len(fields) > 1 and node.name not in POSITIONAL:
                faults.append(f"{node.name}: {len(fields)} fields, not keyword-only")
    return faults


def test_file_faults(tree: ast.Module, text: str) -> list[str]:
    """Tests without a rule, numbers without a source, and checks that may pass for any reason."""
    faults = []
    for function in functions(tree):
        if function.name.startswith("test_") and not ast.get_docstring(function):
            faults.append(f"{function.name}: no docstring that states the rule")
    words = ("source", "derived", "iec", "ieee", "solve_ivp", "common practice", "from memory", "example ")
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    compares = any(ast.unparse(call.func).endswith(("approx", "allclose")) for call in calls)
    if compares and not any(word in text.lower() for word in words):
        faults.append("compares numbers and names no source")
    for call in calls:
        accepted = ast.unparse(call.args[0]) if call.args else ""
        if ast.unparse(call.func).endswith("raises") and accepted in ("Exception", "BaseException"):
            faults.append(f"line {call.lineno}: raises({accepted})")
    return faults
