"""Small faults put into a module, one at a time.

A change is one edit of the syntax tree: another operator, a moved limit, a constant one off, a
condition turned round, a statement left out. Texts are never changed (no test should pin wording),
nor are docstrings, type hints, decorators, ``__all__``, blocks for the type checker, the contents
of a ``Fault``, nor ``strict=`` of ``zip``.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
}
OPPOSITE: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE,
    ast.GtE: ast.Lt,
    ast.Gt: ast.LtE,
    ast.LtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
BOUNDARY: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
}
TEXT_CALLS = {"Fault", "BadInput", "cast", "TypeVar", "field"}
TYPE_FIELDS = {"annotation", "returns", "decorator_list", "type_params"}


@dataclass(frozen=True, slots=True)
class Change:
    """One edit: what stood there, what stands there instead, and how to put it in."""

    line: int
    kind: str
    before: str
    after: str
    put_in: Callable[[], None]


def changes(tree: ast.Module) -> list[Change]:
    """Every change of a module, in the order of its text; putting one in edits `tree`."""
    return list(_of_children(tree))


def changed(source: str, number: int) -> tuple[ast.Module, Change]:
    """Give the tree of a module with its change of that number put in."""
    tree = ast.parse(source)
    change = changes(tree)[number]
    change.put_in()
    return ast.fix_missing_locations(tree), change


def _of_children(node: ast.AST, returns: ast.expr | None = None) -> Iterator[Change]:
    for name, value in ast.iter_fields(node):
        if name in TYPE_FIELDS:
            continue
        if isinstance(value, ast.AST):
            yield from _at(value, _setter(node, name), returns)
        elif isinstance(value, list):
            for at, part in enumerate(value):
                if isinstance(part, ast.AST):
                    yield from _at(part, _setter(value, at), returns)


def _setter(holder: Any, key: str | int) -> Callable[[ast.AST], None]:
    def put(new: ast.AST) -> None:
        if isinstance(key, int):
            holder[key] = new
        else:
            setattr(holder, key, new)

    return put


def _at(
    node: ast.AST, put: Callable[[ast.AST], None], returns: ast.expr | None
) -> Iterator[Change]:
    if _left_alone(node):
        return
    if isinstance(node, ast.FunctionDef):
        returns = node.returns
    for kind, new in _instead(node, returns):
        yield Change(
            line=node.lineno,
            kind=kind,
            before=_one_line(node),
            after=_one_line(new),
            put_in=lambda new=new: put(new),
        )
    if isinstance(node, ast.Compare):
        yield from _comparisons(node)
    if isinstance(node, ast.If | ast.While | ast.IfExp) and not _turned_elsewhere(node.test):
        yield _negated(node, "test", node.test)
    if isinstance(node, ast.comprehension):
        for at, test in enumerate(node.ifs):
            if not _turned_elsewhere(test):
                yield _negated(node.ifs, at, test)
    if isinstance(node, ast.AugAssign) and type(node.op) in ARITHMETIC:
        yield _other_step(node)
    yield from _of_children(node, returns)


def _left_alone(node: ast.AST) -> bool:
    match node:
        case (
            ast.Expr(value=ast.Constant())
            | ast.JoinedStr()
            | ast.Constant(value=str() | bytes())
            | ast.Import()
            | ast.ImportFrom()
            | ast.If(test=ast.Name(id="TYPE_CHECKING"))
            | ast.Assign(targets=[ast.Name(id="__all__" | "__slots__")])
            | ast.keyword(arg="strict")
        ):
            return True
        case ast.Call(func=ast.Name(id=name)) | ast.Call(func=ast.Attribute(attr=name)):
            return name in TEXT_CALLS
    return False


def _instead(node: ast.AST, returns: ast.expr | None) -> Iterator[tuple[str, ast.AST]]:
    match node:
        case ast.BinOp(left=left, op=op, right=right) if type(op) in ARITHMETIC:
            if not (_is_text(left) or _is_text(right)):
                yield "arithmetic", ast.BinOp(left, ARITHMETIC[type(op)](), right)
        case ast.UnaryOp(op=ast.USub() | ast.Not(), operand=inside):
            yield ("boolean" if isinstance(node.op, ast.Not) else "arithmetic"), inside
        case ast.BoolOp(op=op, values=values):
            other = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield "boolean", ast.BoolOp(other, values)
        case ast.Constant(value=bool() as truth):
            yield "constant", ast.Constant(not truth)
        case ast.Constant(value=int() | float() as number):
            yield "constant", ast.Constant(number + 1)
            yield "constant", ast.Constant(number - 1)
        case ast.Return(value=value) if value is not None:
            if not (isinstance(value, ast.Constant) and value.value is None):
                yield "return", ast.Return(_other_answer(value, returns))
        case ast.Expr(value=ast.Call() | ast.Yield() | ast.YieldFrom()) | ast.AugAssign():
            yield "left out", ast.Pass()
        case ast.Raise() | ast.Continue() | ast.Break():
            yield "left out", ast.Pass()
        case ast.Call(func=func, args=[first, second, *rest], keywords=keywords):
            starred = isinstance(first, ast.Starred) or isinstance(second, ast.Starred)
            if not starred and ast.dump(first) != ast.dump(second):
                yield "swapped", ast.Call(func, [second, first, *rest], keywords)


def _comparisons(node: ast.Compare) -> Iterator[Change]:
    for at, op in enumerate(node.ops):
        for kind, table in (("comparison", OPPOSITE), ("boundary", BOUNDARY)):
            if type(op) in table:
                other = table[type(op)]()
                ops = [*node.ops[:at], other, *node.ops[at + 1 :]]
                yield Change(
                    line=node.lineno,
                    kind=kind,
                    before=_one_line(node),
                    after=_one_line(ast.Compare(node.left, ops, node.comparators)),
                    put_in=lambda at=at, other=other: _setter(node.ops, at)(other),
                )


def _turned_elsewhere(test: ast.expr) -> bool:
    """One comparison, or a `not`: its own change already turns the condition round."""
    match test:
        case ast.Compare(ops=[_]) | ast.UnaryOp(op=ast.Not()):
            return True
    return False


def _negated(holder: Any, key: str | int, test: ast.expr) -> Change:
    new = ast.UnaryOp(ast.Not(), test)
    return Change(
        line=test.lineno,
        kind="condition",
        before=_one_line(test),
        after=_one_line(new),
        put_in=lambda: _setter(holder, key)(new),
    )


def _other_step(node: ast.AugAssign) -> Change:
    other = ARITHMETIC[type(node.op)]()
    return Change(
        line=node.lineno,
        kind="arithmetic",
        before=_one_line(node),
        after=_one_line(ast.AugAssign(node.target, other, node.value)),
        put_in=lambda: setattr(node, "op", other),
    )


def _other_answer(value: ast.expr, returns: ast.expr | None) -> ast.expr:
    match returns:
        case ast.Name(id="bool"):
            return ast.UnaryOp(ast.Not(), value)
        case ast.Name(id="int" | "float"):
            return ast.BinOp(value, ast.Add(), ast.Constant(1))
    return ast.Constant(None)


def _is_text(node: ast.expr) -> bool:
    match node:
        case ast.JoinedStr() | ast.Constant(value=str()):
            return True
        case ast.BinOp(left=left, right=right):
            return _is_text(left) or _is_text(right)
    return False


def _one_line(node: ast.AST) -> str:
    text = " ".join(ast.unparse(ast.fix_missing_locations(node)).split())
    return text if len(text) <= 90 else text[:87] + "..."
