"""The changes that a program's text is put to, one at a time: an operator, a condition, a number."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from types import CodeType
from typing import Any

Place = tuple[Any, str | int]  # where a node hangs: a field of another node, or a row of a list in one
Swap = dict[type[ast.AST], tuple[str, type[ast.AST], str]]

COMPARED: Swap = {
    ast.Lt: ("<", ast.LtE, "<="),
    ast.LtE: ("<=", ast.Lt, "<"),
    ast.Gt: (">", ast.GtE, ">="),
    ast.GtE: (">=", ast.Gt, ">"),
    ast.Eq: ("==", ast.NotEq, "!="),
    ast.NotEq: ("!=", ast.Eq, "=="),
    ast.Is: ("is", ast.IsNot, "is not"),
    ast.IsNot: ("is not", ast.Is, "is"),
    ast.In: ("in", ast.NotIn, "not in"),
    ast.NotIn: ("not in", ast.In, "in"),
}
WORKED: Swap = {
    ast.Add: ("+", ast.Sub, "-"),
    ast.Sub: ("-", ast.Add, "+"),
    ast.Mult: ("*", ast.Div, "/"),
    ast.Div: ("/", ast.Mult, "*"),
    ast.FloorDiv: ("//", ast.Div, "/"),
    ast.Mod: ("%", ast.Mult, "*"),
    ast.Pow: ("**", ast.Mult, "*"),
    ast.BitOr: ("|", ast.BitAnd, "&"),
    ast.BitAnd: ("&", ast.BitOr, "|"),
}
JOINED: Swap = {ast.And: ("and", ast.Or, "or"), ast.Or: ("or", ast.And, "and")}

FLAGS = {
    "dataclass",
    "field",
    "lru_cache",
}  # how a class is made and how much is kept: what they say is no figure


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change of a module's text.

    function: the outermost def that it stands in, "" where it runs as the module is read; first: the line that its code begins with.
    number: of its line; line: that line, the changed piece between « and »; lines: of the whole expression.
    """

    function: str
    first: int
    number: int
    lines: range
    line: str
    becomes: str
    tree: ast.Module = field(compare=False, repr=False)
    place: Place = field(compare=False, repr=False)
    new: ast.AST = field(compare=False, repr=False)

    def __str__(self) -> str:
        return f"{self.number}: {self.line}  becomes  {self.becomes or 'nothing'}"

    def code(self, path: str) -> CodeType:
        """The whole module, so changed."""
        old = _put(self.place, self.new)
        try:
            return compile(self.tree, path, "exec")
        finally:
            _put(self.place, old)

    def function_code(self, path: str) -> CodeType:
        """The function alone, so changed."""
        found = ((code.co_qualname, code.co_firstlineno, code) for code in _codes(self.code(path)))
        return next(code for name, first, code in found if (name, first) == (self.function, self.first))


def mutants(source: str) -> list[Mutant]:
    """All changes of a module, in the order of its lines.

    Left out: text and what stands in it, annotations, `assert`, `if TYPE_CHECKING`, `__slots__`, `strict=` of zip, and the flags of
    classes and decorators that say how a class or a cache is made.
    """
    walk = _Walk(source)
    walk.visit(walk.tree)
    return sorted(walk.found, key=lambda mutant: (mutant.number, mutant.line))


def _put(place: Place, new: Any) -> Any:
    """Hang a node in the place of another, which comes back."""
    owner, slot = place
    old: Any
    if isinstance(owner, list):
        old, owner[int(slot)] = owner[int(slot)], new
    else:
        old = getattr(owner, str(slot))
        setattr(owner, str(slot), new)
    return old


def _places(tree: ast.AST) -> Iterator[tuple[ast.AST, Place]]:
    for node in ast.walk(tree):
        for name, value in ast.iter_fields(node):
            if isinstance(value, ast.AST):
                yield value, (node, name)
            elif isinstance(value, list):
                yield from ((row, (value, n)) for n, row in enumerate(value) if isinstance(row, ast.AST))


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield from _codes(inner)


class _Walk(ast.NodeVisitor):
    def __init__(self, source: str) -> None:
        self.lines = source.splitlines()
        self.tree = ast.parse(source)
        self.places = dict(_places(self.tree))
        self.found: list[Mutant] = []
        self.scope: list[str] = []  # names of classes, down to the outermost function
        self.inside = ("", 0)  # that function, and its first line

    def visit_FunctionDef(self, node: ast.FunctionDef | ast.AsyncFunctionDef) -> None:
        for part in (*node.decorator_list, *node.args.defaults, *filter(None, node.args.kw_defaults)):
            self.visit(part)
        before = self.inside
        if not before[1]:
            first = min([node.lineno, *(decorator.lineno for decorator in node.decorator_list)])
            self.inside = (".".join([*self.scope, node.name]), first)
        for statement in node.body:
            self.visit(statement)
        self.inside = before

    visit_AsyncFunctionDef = visit_FunctionDef  # noqa: N815 - the name that ast looks for

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        if self.inside[1]:
            self.generic_visit(node)
            return
        for part in (*node.decorator_list, *node.bases):
            self.visit(part)
        self.scope.append(node.name)
        for statement in node.body:
            self.visit(statement)
        self.scope.pop()

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value and not _names(node.annotation, "TypeAlias"):
            self.visit(node.value)

    def visit_Assign(self, node: ast.Assign) -> None:
        if not any(_names(target, "__slots__") for target in node.targets):
            self.generic_visit(node)

    def visit_If(self, node: ast.If) -> None:
        if not _names(node.test, "TYPE_CHECKING"):
            self.generic_visit(node)

    def visit_Assert(self, node: ast.Assert) -> None:
        pass

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        pass  # Python 3.11 does not say where in the text its figures stand

    def visit_Subscript(self, node: ast.Subscript) -> None:
        if not _names(node.value, "Literal", "Annotated"):
            self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        if _names(node.func, *FLAGS):
            return
        if _names(node.func, "Fraction") and node.args and isinstance(node.args[0], ast.Constant):
            text = node.args[0]
            if isinstance(text.value, str):
                self._number(text, str(Fraction(text.value) + 1))
        self.generic_visit(node)

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg != "strict":
            self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        sides = [node.left, *node.comparators]
        for n, op in enumerate(node.ops):
            was, other, becomes = COMPARED[type(op)]
            self._keep(node, (node.ops, n), other(), self._between(sides[n], sides[n + 1], was), becomes)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        self._operator(node, WORKED, node.left, node.right)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        self._operator(node, WORKED, node.target, node.value, "=")

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        self._operator(node, JOINED, node.values[0], node.values[1])

    def _operator(
        self,
        node: ast.BinOp | ast.AugAssign | ast.BoolOp,
        swap: Swap,
        left: ast.expr,
        right: ast.expr,
        then: str = "",
    ) -> None:
        if type(node.op) in swap and not _is_text(left) and not _is_text(right):
            was, other, becomes = swap[type(node.op)]
            self._keep(node, (node, "op"), other(), self._between(left, right, was + then), becomes + then)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        sign = {ast.Not: "not", ast.USub: "-"}.get(type(node.op))
        if sign:
            piece = (node.lineno, self._column(node.lineno, node.col_offset), sign)
            self._keep(node, self.places[node], node.operand, piece, "")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        value = node.value
        if isinstance(value, bool):
            self._number(node, not value)
        elif isinstance(value, int):
            self._number(node, value + 1)
        elif isinstance(value, float):
            self._number(node, value * 1.1 or 1.0)

    def _number(self, node: ast.Constant, value: str | float) -> None:
        begin, end = (
            self._column(node.lineno, offset or 0) for offset in (node.col_offset, node.end_col_offset)
        )
        piece = (node.lineno, begin, self.lines[node.lineno - 1][begin:end])
        self._keep(node, self.places[node], ast.copy_location(ast.Constant(value), node), piece, repr(value))

    def _column(self, line: int, offset: int) -> int:
        return len(self.lines[line - 1].encode()[:offset].decode())

    def _between(self, left: ast.expr, right: ast.expr, sign: str) -> tuple[int, int, str]:
        """Where an operator stands: line, column and text. Only brackets and comments can stand beside it."""
        word = re.compile(
            r" +".join(rf"\b{part}\b" if part.isalpha() else re.escape(part) for part in sign.split())
        )
        last = left.end_lineno or 0
        for number in range(last, right.lineno + 1):
            start = self._column(number, left.end_col_offset or 0) if number == last else 0
            end = self._column(number, right.col_offset) if number == right.lineno else None
            found = word.search(self.lines[number - 1][start:end].partition("#")[0])
            if found:
                return number, start + found.start(), found[0]
        raise ValueError(f"no {sign!r} from line {last} to {right.lineno}")

    def _keep(
        self, node: ast.expr | ast.stmt, place: Place, new: ast.AST, piece: tuple[int, int, str], becomes: str
    ) -> None:
        number, column, text = piece
        whole = self.lines[number - 1]
        line = f"{whole[:column]}«{text}»{whole[column + len(text) :]}".strip()
        lines = range(node.lineno, (node.end_lineno or node.lineno) + 1)
        self.found.append(Mutant(*self.inside, number, lines, line, becomes, self.tree, place, new))


def _names(node: ast.expr, *names: str) -> bool:
    return (isinstance(node, ast.Name) and node.id in names) or (
        isinstance(node, ast.Attribute) and node.attr in names
    )


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))
