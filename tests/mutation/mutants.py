"""Small changes to a module, each of which some test must notice.

Changed are comparisons, conditions, `and` and `or`, arithmetic, numbers, single words, True, False
and None, what is returned, and statements done for their effect, which are left out. Left alone
are sentences (strings with a space, f-strings, docstrings, descriptions): tests compare them whole,
and one more letter proves nothing. So are annotations, imports, what a dataclass is told about
itself, names bound by a statement, without which nothing would run, and names unbound by one.
"""

from __future__ import annotations

import ast
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

Step = tuple[str, int | None]

COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.FloorDiv,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
OPPOSITES = {"any": "all", "all": "any", "min": "max", "max": "min"}
DEFINITION = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
DONE_FOR_EFFECT = (ast.Raise, ast.Continue, ast.Break, ast.Delete, ast.AugAssign)


@dataclass(frozen=True)
class Mutant:
    """One change.

    Attributes:
        place: the function or class it is in, dotted; empty at the module's top.
        before: the source that is changed.
        after: what stands there instead.
        lines: the first and last line of what is changed.
        head: the first line of the outermost function around it; None if it is in none's body.
        path: the steps from the module to the changed node: each a field, and a place in a list.
        node: what is put there.
    """

    place: str
    before: str
    after: str
    lines: tuple[int, int]
    head: int | None
    path: tuple[Step, ...]
    node: ast.AST

    def planted(self, source: str) -> ast.Module:
        """The module with this change in it."""
        tree = at = ast.parse(source)
        for name, index in self.path[:-1]:
            at = getattr(at, name) if index is None else getattr(at, name)[index]
        name, index = self.path[-1]
        if index is None:
            setattr(at, name, self.node)
        else:
            getattr(at, name)[index] = self.node
        return ast.fix_missing_locations(tree)


def mutants(source: str) -> list[Mutant]:
    """Every mutant of a module, always in the same order."""
    return list(_below(ast.parse(source), (), "", None))


def _below(node: ast.AST, path: tuple[Step, ...], place: str, head: int | None) -> Iterator[Mutant]:
    if isinstance(node, DEFINITION):
        place = f"{place}.{node.name}".lstrip(".")
    for step, child in _children(node):
        within = head
        if head is None and step[0] == "body" and isinstance(node, DEFINITION[:2]):
            within = min([node.lineno, *(d.lineno for d in node.decorator_list)])
        here = (*path, step)
        for other in _instead(node, step[0], child, in_function=within is not None):
            lines = (child.lineno, child.end_lineno or child.lineno)
            yield Mutant(place, _said(child), _said(other), lines, within, here, other)
        yield from _below(child, here, place, within)


def _said(node: ast.AST) -> str:
    return " ".join(ast.unparse(ast.fix_missing_locations(node)).split())


def _children(node: ast.AST) -> Iterator[tuple[Step, ast.AST]]:
    for name, value in ast.iter_fields(node):
        if name in {"annotation", "returns", "ctx", "op", "ops"}:
            continue
        for index, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if isinstance(child, ast.AST) and not _is_left_alone(node, child):
                yield (name, index), child


def _is_left_alone(parent: ast.AST, node: ast.AST) -> bool:
    match parent, node:
        case _, ast.Import() | ast.ImportFrom():
            return True
        case _, ast.If(test=ast.Name("TYPE_CHECKING")):
            return True
        case ast.JoinedStr(), ast.Constant():
            return True
        case _, ast.Expr(ast.Constant()) | ast.Assign([ast.Name("__all__")]):
            return True
        case _, ast.Delete([ast.Name()]):
            return True
        case _, ast.Call(func=ast.Name("dataclass")):
            return True
        case _, ast.keyword(arg="description" | "title" | "examples"):
            return True
        case ast.Compare() | ast.AnnAssign() | ast.arguments(), ast.Constant(None):
            return True
    return False


def _instead(parent: ast.AST, field: str, node: ast.AST, *, in_function: bool) -> Iterator[ast.AST]:
    """What could stand in a node's place."""
    match node:
        case ast.Compare(left, ops, comparators):
            for n, op in enumerate(ops):
                for other in COMPARISONS[type(op)]:
                    changed = [*ops[:n], other(), *ops[n + 1 :]]
                    yield ast.Compare(left, changed, comparators)
        case ast.BoolOp(ast.And(), values):
            yield ast.BoolOp(ast.Or(), values)
        case ast.BoolOp(ast.Or(), values):
            yield ast.BoolOp(ast.And(), values)
        case ast.UnaryOp(ast.Not() | ast.USub(), operand):
            yield operand
        case ast.BinOp(left, op, right) if type(op) in ARITHMETIC and in_function:
            yield ast.BinOp(left, ARITHMETIC[type(op)](), right)
        case ast.Constant(value):
            yield from (ast.Constant(other) for other in _other(value))
        case ast.Call(ast.Name(name), args, keywords) if name in OPPOSITES:
            yield ast.Call(ast.Name(OPPOSITES[name], ast.Load()), args, keywords)
        case ast.Return(ast.expr() as value) if not isinstance(value, ast.Constant):
            yield ast.Return(ast.Constant(None))
        case ast.Return(None) | ast.Expr():
            yield ast.Pass()
        case ast.Assign(targets) if not any(isinstance(t, ast.Name | ast.Tuple) for t in targets):
            yield ast.Pass()
    if isinstance(node, DONE_FOR_EFFECT):
        yield ast.Pass()
    if isinstance(node, ast.AugAssign) and type(node.op) in ARITHMETIC:
        yield ast.AugAssign(node.target, ARITHMETIC[type(node.op)](), node.value)
    is_asked = field in {"test", "ifs"} and not isinstance(parent, ast.Assert)
    if is_asked and not isinstance(node, ast.Compare | ast.BoolOp | ast.UnaryOp | ast.Constant):
        yield ast.UnaryOp(ast.Not(), node)


def _other(value: object) -> Iterator[object]:
    match value:
        case bool():
            yield not value
        case int():
            yield value + 1
        case None:
            yield ...
        case str() if value and not any(c.isspace() for c in value):
            yield value + "-"
