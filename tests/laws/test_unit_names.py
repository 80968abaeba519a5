"""One test holds annotation, name suffix and docstring unit together; another checks the units of every call.

A name that ends in a suffix of `wetrun.units` is annotated with that unit, an annotation with a unit has a name that
ends in it, and the docstring shows its symbol in square brackets. A call that hands a name of one unit to a parameter
of another is reported, so that two arguments of unlike dimension cannot be swapped unseen.
"""

from __future__ import annotations

import ast
import builtins
import dataclasses
import functools
import importlib
import inspect
import pkgutil
import re
import sys
import textwrap
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Annotated, Any, get_args, get_origin, get_type_hints

import django_stubs_ext
import numpy as np
import pytest

import wetrun
from wetrun.units import ALL_UNITS, CENT, METRE_PER_SECOND, PASCAL, Mps, Pa, Unit, unit_of_name

django_stubs_ext.monkeypatch()  # Django's stubs are generic, its classes are not: annotations are evaluated here
BY_SYMBOL = {unit.symbol: unit for unit in ALL_UNITS}
FOREIGN_METHODS = frozenset(dir(str) + dir(list) + dir(dict) + dir(set) + dir(tuple) + dir(np.ndarray) + dir(builtins))


# ------------------------------------------------------------------------------------------------ what the house holds


@functools.cache
def house() -> tuple[ModuleType, ...]:
    names = (found.name for found in pkgutil.walk_packages(wetrun.__path__, "wetrun."))
    return tuple(importlib.import_module(name) for name in sorted(names))


def source_of(module: ModuleType) -> str:
    return Path(str(module.__file__)).read_text(encoding="utf-8")


def classes_of(module: ModuleType) -> Iterator[type]:
    return (item for item in vars(module).values() if isinstance(item, type) and item.__module__ == module.__name__)


def plain_function(item: object) -> FunctionType | None:
    """Take the function out of a method, property or wrapper."""
    if isinstance(item, staticmethod | classmethod):
        item = item.__func__
    elif isinstance(item, property):
        item = item.fget
    elif isinstance(item, functools.cached_property):
        item = item.func
    inner = inspect.unwrap(item) if callable(item) else item
    return inner if isinstance(inner, FunctionType) else None


def functions_of(module: ModuleType) -> Iterator[FunctionType]:
    """Every function and method that was written in a module."""
    for scope in (module, *classes_of(module)):
        for item in vars(scope).values():
            function = plain_function(item)
            if function is not None and function.__module__ == module.__name__:
                yield function


def is_public(function: FunctionType) -> bool:
    """Generated methods and lambdas have names that no one calls."""
    return not any(part.startswith(("_", "<")) for part in function.__qualname__.split("."))


# ------------------------------------------------------------------------------------------ annotation, name, docstring


def unit_named(name: str) -> Unit | None:
    """The unit a name ends in; suffixes that are words have a plural."""
    return unit_of_name(name.removesuffix("s") if name.endswith(("_fracs", "_ratios")) else name)


def units_in(annotation: object) -> frozenset[Unit]:
    """Units anywhere in an annotation: in unions, tuples and arrays too, but not in what a callable takes."""
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *notes = get_args(annotation)
        return frozenset(note for note in notes if isinstance(note, Unit)) or units_in(inner)
    if origin is Callable:
        return frozenset()
    return frozenset().union(*(units_in(part) for part in get_args(annotation)))


@functools.cache
def typing_only_names(module_name: str) -> dict[str, Any]:
    """What a module imports for its annotations alone, which get_type_hints cannot see."""
    module = sys.modules[module_name]
    if getattr(module, "__file__", None) is None:
        return {}
    blocks = [node for node in ast.parse(source_of(module)).body if isinstance(node, ast.If)]
    bodies = [line for node in blocks if ast.unparse(node.test) == "TYPE_CHECKING" for line in node.body]
    lines = [ast.unparse(line) for line in bodies if isinstance(line, ast.Import | ast.ImportFrom)]
    names: dict[str, Any] = {}
    exec("\n".join(lines), names)  # noqa: S102 – import lines of our own source
    return names


def hints_of(item: Any) -> dict[str, Any]:
    return get_type_hints(item, localns=typing_only_names(item.__module__), include_extras=True)


def sections(docstring: str) -> dict[str, str]:
    """Text under each numpydoc heading; the text before the first stands under an empty one."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}[ ]*$", inspect.cleandoc(docstring), flags=re.MULTILINE)
    return dict(zip(["", *parts[1::2]], parts[0::2], strict=True))


def entries(section: str) -> dict[tuple[str, ...], str]:
    """Text of each entry of a section by the names it is about."""
    parts = re.split(r"^(\*{0,2}\w[^\n:]*?)(?=\s*:|\s*$)", section, flags=re.MULTILINE)
    return {
        tuple(name.strip(" *") for name in head.split(",")): body
        for head, body in zip(parts[1::2], parts[2::2], strict=True)
    }


def symbols_in(text: str) -> set[str]:
    return set(re.findall(r"\[([^\[\]]+)\]", text)) & set(BY_SYMBOL)


def name_problems(name: str, annotation: object) -> Iterator[str]:
    """Where a parameter's or field's name and annotation disagree."""
    named, noted = unit_named(name), units_in(annotation)
    if named is None and any(get_origin(part) in {dict, Mapping} for part in (annotation, *get_args(annotation))):
        return  # named for what it maps, such as tips to pressures
    expected = frozenset() if named is None else frozenset({named})
    if noted != expected:
        shown = ", ".join(sorted(unit.symbol for unit in noted)) or "no unit"
        yield f"{name}: the name says {named.symbol if named else 'no unit'}, the annotation {shown}"


def entry_problems(listed: dict[tuple[str, ...], str], hints: dict[str, Any]) -> Iterator[str]:
    """Where the entry of a documented name shows not its unit, or one it has not."""
    for names, text in listed.items():
        noted = {name: units_in(hints[name]) for name in names if name in hints}
        wanted = {unit.symbol for units in noted.values() for unit in units}
        shown = symbols_in(text)
        if noted and shown != wanted:
            yield f"{', '.join(names)}: documented with {sorted(shown)}, annotated with {sorted(wanted)}"


def function_problems(function: FunctionType) -> Iterator[str]:
    hints = hints_of(function)
    returned = units_in(hints.pop("return", None))
    parts = sections(function.__doc__ or "")
    listed = entries(parts.get("Parameters", ""))
    for name, annotation in hints.items():
        yield from name_problems(name, annotation)
        if not any(name in names for names in listed):
            missing = {unit.symbol for unit in units_in(annotation)} - symbols_in(parts.get("", ""))
            yield from (f"{name}: [{symbol}] is not in the docstring" for symbol in sorted(missing))
    yield from entry_problems(listed, hints)
    named = unit_named(function.__name__)
    if named is not None and returned != {named}:
        yield f"the name says {named.symbol}, the returned annotation {sorted(unit.symbol for unit in returned)}"
    told = symbols_in(parts.get("Returns", parts.get("Yields", parts.get("", ""))))
    yield from (f"returns: [{u.symbol}] is not in the docstring" for u in returned if u.symbol not in told)


def dataclass_problems(cls: type) -> Iterator[str]:
    fields = {field.name for field in dataclasses.fields(cls) if not field.name.startswith("_")}
    hints = {name: hint for name, hint in hints_of(cls).items() if name in fields}
    for name, annotation in hints.items():
        yield from name_problems(name, annotation)
    parts = sections(cls.__doc__ or "")
    yield from entry_problems(entries(parts.get("Attributes", "") + parts.get("Parameters", "")), hints)


def naming_problems(modules: Iterable[ModuleType]) -> list[str]:
    found: list[str] = []
    for module in modules:
        for function in filter(is_public, functions_of(module)):
            found += (f"{module.__name__}.{function.__qualname__}: {p}" for p in function_problems(function))
        for cls in filter(dataclasses.is_dataclass, classes_of(module)):
            if cls.__name__.startswith("_"):
                continue
            found += (f"{module.__name__}.{cls.__qualname__}: {p}" for p in dataclass_problems(cls))
    return found


# ------------------------------------------------------------------------------------------------------------ the calls


@dataclasses.dataclass(frozen=True)
class Slots:
    """Units a call takes: by position, and what it returns."""

    names: tuple[str, ...]
    units: tuple[frozenset[Unit], ...]
    returns: frozenset[Unit]


def slots_of(target: Any) -> Slots:
    """Parameters that may be given by position (the instance left out), with their units."""
    hints = hints_of(target)
    kinds = (inspect.Parameter.POSITIONAL_ONLY, inspect.Parameter.POSITIONAL_OR_KEYWORD)
    names = tuple(p.name for p in inspect.signature(target).parameters.values() if p.kind in kinds)
    names = names[1:] if names[:1] in {("self",), ("cls",)} else names
    returns = frozenset() if isinstance(target, type) else units_in(hints.get("return"))
    return Slots(names, tuple(units_in(hints.get(name)) for name in names), returns)


class CallChecker(ast.NodeVisitor):
    """Reads one module's source and notes every argument whose name says another unit than its parameter."""

    def __init__(self, module: ModuleType, methods: dict[str, list[Slots]]) -> None:
        self.module = module
        self.methods = methods
        self.imported: dict[str, Any] = {}
        self.found: list[str] = []

    def check(self, source: str) -> list[str]:
        tree = ast.parse(source)
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("wetrun"):
                origin = importlib.import_module(node.module or "")
                # A submodule is not an attribute of its package until somebody has imported it.
                self.imported |= {alias.asname or alias.name: getattr(origin, alias.name, None) for alias in node.names}
        self.visit(tree)
        return self.found

    def candidates(self, func: ast.expr) -> list[Slots]:
        """What a call may reach: one function or class of ours, or all our methods of that name."""
        target = self.resolved(func)
        if target is not None:
            ours = getattr(target, "__module__", "").startswith(("wetrun", self.module.__name__))
            callable_of_ours = isinstance(target, FunctionType) or dataclasses.is_dataclass(target)
            return [slots_of(target)] if ours and callable_of_ours else []
        if isinstance(func, ast.Attribute) and func.attr not in FOREIGN_METHODS:
            return self.methods.get(func.attr, [])
        return []

    def resolved(self, func: ast.expr) -> Any:
        if isinstance(func, ast.Name):
            found = self.imported.get(func.id) or vars(self.module).get(func.id)
        elif isinstance(func, ast.Attribute):
            owner = self.resolved(func.value)
            found = getattr(owner, func.attr, None) if isinstance(owner, ModuleType) else None
        else:
            return None
        return inspect.unwrap(found) if callable(found) else found

    def unit_of(self, value: ast.expr) -> Unit | None:
        """The unit an expression carries, where its names tell."""
        match value:
            case ast.Name(id=name) | ast.Attribute(attr=name):
                return unit_named(name)
            case ast.BinOp(op=ast.Add() | ast.Sub(), left=left, right=right) | ast.IfExp(body=left, orelse=right):
                return self.unit_of(left) or self.unit_of(right)
            case (
                ast.Subscript(value=inner)
                | ast.UnaryOp(operand=inner)
                | ast.Call(func=ast.Name(id="float" | "abs"), args=[inner])
            ):
                return self.unit_of(inner)
            case ast.Call(func=func):
                reached = frozenset().union(*(slots.returns for slots in self.candidates(func)))
                return next(iter(reached)) if len(reached) == 1 else None
            case _:
                return None

    def visit_Call(self, node: ast.Call) -> None:
        reached = self.candidates(node.func)
        for place, argument in enumerate(node.args):
            if isinstance(argument, ast.Starred):
                break
            takes = [slots.units[place] for slots in reached if place < len(slots.units)]
            self.compare(argument, f"argument {place + 1}", takes)
        for keyword in node.keywords:
            named = unit_named(keyword.arg or "")
            self.compare(keyword.value, f"argument {keyword.arg}", [frozenset({named})] if named else [])
        self.generic_visit(node)

    def compare(self, argument: ast.expr, place: str, takes: list[frozenset[Unit]]) -> None:
        """Note an argument that no candidate takes; a parameter without any unit takes everything."""
        given = self.unit_of(argument)
        if given is None or not takes or any(not units or given in units for units in takes):
            return
        wanted = " or ".join(sorted({unit.symbol for units in takes for unit in units}))
        where = f"{self.module.__name__}:{argument.lineno}"
        self.found.append(f"{where}: {place} is {ast.unparse(argument)} [{given.symbol}] and takes [{wanted}]")


def methods_by_name(modules: Iterable[ModuleType]) -> dict[str, list[Slots]]:
    found: dict[str, list[Slots]] = defaultdict(list)
    for module in modules:
        for cls in classes_of(module):
            for name, item in vars(cls).items():
                function = None if isinstance(item, property | staticmethod) else plain_function(item)
                if function is not None and not name.startswith("__"):
                    found[name].append(slots_of(function))
    return found


def call_problems(modules: Iterable[ModuleType]) -> list[str]:
    modules = tuple(modules)
    methods = methods_by_name(modules)
    return [line for module in modules for line in CallChecker(module, methods).check(source_of(module))]


# ------------------------------------------------------------------------------------------------------------ the tests


def test_annotation_suffix_and_docstring_say_the_same_unit_everywhere() -> None:
    problems = naming_problems(house())
    assert not problems, "\n".join(["", *problems])


def test_no_call_hands_over_a_value_of_another_unit() -> None:
    problems = call_problems(house())
    assert not problems, "\n".join(["", *problems])


def test_suffixes_symbols_and_aliases_are_one_to_one() -> None:
    aliases = [hint for hint in vars(wetrun.units).values() if get_origin(hint) is Annotated]
    assert len({unit.suffix for unit in ALL_UNITS}) == len({unit.symbol for unit in ALL_UNITS}) == len(ALL_UNITS)
    assert len({unit.dimension for unit in ALL_UNITS}) == len(ALL_UNITS)
    assert sorted(unit.suffix for hint in aliases for unit in units_in(hint)) == sorted(u.suffix for u in ALL_UNITS)


def sample(body: str) -> ModuleType:
    """Make a module out of a few lines and keep its source."""
    source = "from __future__ import annotations\nfrom dataclasses import dataclass\n" + textwrap.dedent(body)
    module = ModuleType("sample_of_calls")
    module.__dict__.update(Pa=Pa, Mps=Mps)
    sys.modules[module.__name__] = module
    exec(compile(source, "sample_of_calls", "exec"), module.__dict__)  # noqa: S102 – our own lines, a few below
    module.__dict__["source"] = source
    return module


DEFINITIONS = '''
def dose(pressure_pa: Pa, speed_mps: Mps) -> Pa:
    """Return what a pressure [Pa] and a speed [m/s] make."""
    return pressure_pa

@dataclass
class Reading:
    pressure_pa: Pa
    speed_mps: Mps | None = None
    def scaled(self, speed_mps: Mps) -> Pa:
        """Return the pressure [Pa] at a speed [m/s]."""
        return self.pressure_pa
'''


@pytest.fixture
def calls_reported() -> Iterator[Callable[[str], list[str]]]:
    def report(line: str) -> list[str]:
        body = f"{DEFINITIONS}\ndef caller(pressure_pa, speed_mps, reading):\n    return {line}\n"
        module = sample(body)
        return CallChecker(module, methods_by_name([module])).check(module.__dict__["source"])

    yield report
    sys.modules.pop("sample_of_calls", None)


@pytest.mark.parametrize(
    ("line", "count"),
    [
        ("dose(pressure_pa, speed_mps)", 0),
        ("dose(pressure_pa=pressure_pa, speed_mps=speed_mps)", 0),
        ("dose(speed_mps, pressure_pa)", 2),
        ("dose(pressure_pa=speed_mps, speed_mps=pressure_pa)", 2),
        ("dose(reading.speed_mps, reading.pressure_pa)", 2),
        ("dose(-speed_mps, speed_mps[0])", 1),
        ("dose(pressure_pa, dose(pressure_pa, speed_mps))", 1),
        ("Reading(speed_mps, pressure_pa)", 2),
        ("Reading(pressure_pa, speed_mps=None)", 0),
        ("reading.scaled(pressure_pa)", 1),
        ("reading.scaled(speed_mps)", 0),
        ("dose(*reading)", 0),
    ],
)
def test_the_checker_reports_swapped_arguments(
    calls_reported: Callable[[str], list[str]], line: str, count: int
) -> None:
    assert len(calls_reported(line)) == count


@pytest.mark.parametrize(
    ("lines", "complaint"),
    [
        ("def f(pressure_pa: float) -> None:\n    'Take a pressure [Pa].'", "annotation no unit"),
        ("def f(pressure: Pa) -> None:\n    'Take a pressure [Pa].'", "name says no unit"),
        ("def f(pressure_pa: Mps) -> None:\n    'Take [m/s].'", "annotation m/s"),
        ("def f(pressure_pa: Pa | None) -> None:\n    'Take a pressure.'", "[Pa] is not in the docstring"),
        ("def f_pa(x: str) -> float:\n    'Return [Pa].'", "the name says Pa"),
        ("def f(x: str) -> tuple[Pa, ...]:\n    'Return pressures.'", "returns: [Pa]"),
        ("@dataclass\nclass C:\n    speed_mps: float", "annotation no unit"),
        (
            "@dataclass\nclass C:\n    'C.\\n\\nAttributes\\n----------\\na_mps : float\\n    [Pa].'\n    a_mps: Mps",
            "['Pa']",
        ),
    ],
)
def test_the_naming_rule_reports_each_kind_of_disagreement(lines: str, complaint: str) -> None:
    problems = naming_problems([sample(lines)])
    sys.modules.pop("sample_of_calls")
    assert len(problems) == 1
    assert complaint in problems[0]


def test_units_are_found_inside_unions_tuples_and_arrays() -> None:
    array = Annotated[np.ndarray[Any, np.dtype[np.float64]], PASCAL]
    assert units_in(Pa | None) == units_in(array) == units_in(tuple[Pa, ...]) == {PASCAL}
    assert units_in(tuple[Pa, Mps]) == {PASCAL, METRE_PER_SECOND}
    assert units_in(Callable[[Pa], Mps]) == units_in(dict[str, int]) == frozenset()
    assert unit_of_name("price_cents") is CENT
