"""A figure of many rows at once, exact as a Fraction is: a rule that takes one judges every row that goes its way.

Where a rule asks which of two figures is more, the rows may part. It goes on with those that answer as most of them do, and
`ways` runs it again for the others. So there is no second copy of a rule, and none of its formulas.
"""

from __future__ import annotations

import operator
import threading
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import lru_cache, wraps
from math import frexp, gcd, isqrt, ldexp, sqrt
from typing import Any, Generic, TypeVar, cast

from msgspec import Struct, field

from hearthcalc.errors import UsageError

Array = Any  # of numpy, which only who makes one has to load
T = TypeVar("T")
F = TypeVar("F", bound=Callable[..., Fraction])
W = TypeVar("W", bound=Callable[..., str])

UNTOLD = "..."  # in place of the text of a figure that is many
_WHOLE = (
    2**62
)  # beyond it a sum of two numbers may not fit into 64 bits; Python's own numbers then stand in the array
_FLOAT = 2**53  # up to it a float holds every whole number


class OneByOne(Exception):  # noqa: N818 - not a mistake: these rows are judged on their own
    """What is asked of a figure has an answer only for one row at a time."""


class _Way(Struct):
    """Where a run goes. active: the rows that go with it, count of them.  parted: those that left it, fork by fork."""

    active: Array
    count: int
    parted: list[Array] = field(default_factory=list)


class _Now(threading.local):
    way: _Way | None = None


_now = _Now()


class Outcome(Struct, Generic[T], frozen=True):
    """What came of some rows. rows: their numbers.  active: which of the figures of the run are theirs.

    made: None where the rows have to be judged one by one.
    """

    rows: Array
    active: Array
    made: T | None


def ways(rows: Array, work: Callable[[Array], T]) -> Iterator[Outcome[T]]:
    """Run a piece of work for some rows as often as it goes another way for some of them.

    rows: their numbers, an array.  work: is given those to work with, and makes the figures of just these.
    """
    waiting = [rows]
    while waiting:
        mine = waiting.pop()
        way = _Way(mine == mine, len(mine))
        before, _now.way = _now.way, way
        try:
            made: T | None = work(mine)
        except OneByOne:
            made = None
        finally:
            _now.way = before
        waiting += [mine[parted] for parted in way.parted]
        yield Outcome(mine[way.active], way.active, made)


def parted() -> bool:
    """Have rows left the run under way."""
    return _now.way is not None and bool(_now.way.parted)


def hold(answers: Array) -> bool:
    """The answer of the rows under way to a question; those that answer otherwise leave it."""
    way = _now.way
    if way is None:
        raise OneByOne
    yes = answers & way.active
    count = int(yes.sum())
    if count == way.count:
        return True
    if not count:
        return False
    most = 2 * count >= way.count
    no = way.active & ~yes
    way.active, parted = (yes, no) if most else (no, yes)
    way.count = count if most else way.count - count
    way.parted.append(parted)
    return most


def _active() -> Array:
    """Which rows are under way."""
    if _now.way is None:
        raise OneByOne
    return _now.way.active


class Many(Fraction):
    """A figure of many rows: parts / under * scale, row by row.

    parts: whole numbers.  under: what each is over, above 0; None for 1.  most: none of either is larger.
    """

    __slots__ = ("most", "parts", "scale", "under")
    parts: Array
    scale: Fraction
    under: Array
    most: int

    def __new__(cls, parts: Array, scale: Fraction = Fraction(1), under: Array = None, most: int = 0) -> Many:
        self = object.__new__(cls)
        self.parts, self.scale, self.under = parts, scale, under
        self.most = most or _largest(parts, under)
        return self

    def floats(self) -> Array:
        """The figures as floats, each the nearest to it."""
        top, bottom = self.scale.numerator, self.scale.denominator
        if max(self.most, 1) * max(abs(top), bottom) <= _FLOAT:
            under = bottom if self.under is None else self.under.astype("int64") * bottom
            result: Array = self.parts.astype("int64") * top / under
            return result
        unders = [1] * len(self.parts) if self.under is None else self.under.tolist()
        quotients = zip(self.parts.tolist(), unders, strict=True)
        return _array([part * top / (under * bottom) for part, under in quotients], float)

    def root(self) -> Many:
        """The square roots: exact where they are rational, else of the precision of a float. ValueError where there is none."""
        top, bottom = self.scale.numerator, self.scale.denominator
        active = _active()
        over = _times(self.parts, self.most, top, abs(top))[0] * active
        under = _times(_over_one(self), self.most, bottom, bottom)[0]
        if bool((over < 0).any()):
            raise ValueError("no root of a figure below 0")
        if int(over.max()) * int(under.max()) < _FLOAT:
            return _roots(over.astype("int64"), under.astype("int64"))
        roots = []
        for one, below in zip(over.tolist(), under.tolist(), strict=True):
            whole = isqrt(one * below)
            exact = whole * whole == one * below
            roots.append((whole, below) if exact else sqrt(one / below).as_integer_ratio())
        parts, unders = zip(*roots, strict=True)
        most = max(*parts, *unders)
        kind = object if most >= _WHOLE else "int64"
        return Many(_array(parts, kind), Fraction(1), _array(unders, kind), most)

    def taken(self, rows: Array) -> Many:
        """The figures of some of the rows, by their places."""
        return Many(self.parts[rows], self.scale, None if self.under is None else self.under[rows], self.most)

    def fractions(self) -> list[Fraction]:
        """The figures one by one."""
        unders = [1] * len(self.parts) if self.under is None else self.under.tolist()
        return [
            Fraction(part, under) * self.scale
            for part, under in zip(self.parts.tolist(), unders, strict=True)
        ]

    # Arithmetic

    def _sum(self, other: Any, sign: int) -> Any:
        if not isinstance(other, int | Fraction):
            return NotImplemented
        mine, theirs, under, scale, most = _together(self, other)
        return _figure(mine + sign * theirs, scale, under, 2 * most)

    def __add__(self, other: Any) -> Any:
        return self._sum(other, 1)

    def __radd__(self, other: Any) -> Any:
        return self._sum(other, 1)

    def __sub__(self, other: Any) -> Any:
        return self._sum(other, -1)

    def __rsub__(self, other: Any) -> Any:
        return (-self)._sum(other, 1)

    def __mul__(self, other: Any) -> Any:
        if isinstance(other, Many):
            parts, most = _times(self.parts, self.most, other.parts, other.most)
            under = _over(self.under, self.most, other.under, other.most)
            return _figure(parts, self.scale * other.scale, under, most)
        if not isinstance(other, int | Fraction):
            return NotImplemented
        return Many(self.parts, self.scale * other, self.under, self.most) if other else Fraction(0)

    def __rmul__(self, other: Any) -> Any:
        return self * other

    def _inverse(self) -> Many:
        """One over each; a row under way that is 0 has none."""
        empty = self.parts == 0
        if bool((empty & _active()).any()):
            raise OneByOne
        sign = 1 - 2 * (self.parts < 0)
        top = sign if self.under is None else sign * self.under
        return Many(top, 1 / self.scale, abs(self.parts) + empty, self.most)

    def __truediv__(self, other: Any) -> Any:
        if isinstance(other, Many):
            return self * other._inverse()
        return self * (1 / Fraction(other)) if isinstance(other, int | Fraction) else NotImplemented

    def __rtruediv__(self, other: Any) -> Any:
        return self._inverse() * other

    def __floordiv__(self, other: Any) -> Any:
        share = self / other
        if share is NotImplemented or not isinstance(share, Many):
            return share
        top, bottom = share.scale.numerator, share.scale.denominator
        parts, most = _times(share.parts, share.most, top, abs(top))
        under, least = _times(1 if share.under is None else share.under, share.most, bottom, bottom)
        if least >= _WHOLE:
            parts = parts.astype(object)
        return Many(parts // under, Fraction(1), None, most)

    def __rfloordiv__(self, other: Any) -> Any:
        return (self._inverse() * other) // 1

    def __mod__(self, other: Any) -> Any:
        return self - self // other * other

    def __divmod__(self, other: Any) -> Any:
        return self // other, self % other

    def __pow__(self, power: Any, modulo: Any = None) -> Any:
        if not isinstance(power, int) or power < 1:
            raise OneByOne
        result = self
        for _ in range(power - 1):
            result = result * self
        return result

    def __neg__(self) -> Many:
        return Many(self.parts, -self.scale, self.under, self.most)

    def __pos__(self) -> Many:
        return self

    def __abs__(self) -> Many:
        return Many(abs(self.parts), abs(self.scale), self.under, self.most)

    def __floor__(self) -> Any:
        return self // 1

    def __ceil__(self) -> Any:
        return -(-self // 1)

    # Questions, at which the rows may part

    def _asked(self, other: Any, ask: Callable[[Any, Any], Any]) -> Any:
        if not isinstance(other, int | Fraction):
            return NotImplemented
        mine, theirs, *_ = _together(self, other)
        return hold(ask(mine, theirs))

    def __lt__(self, other: Any) -> Any:
        return self._asked(other, operator.lt)

    def __le__(self, other: Any) -> Any:
        return self._asked(other, operator.le)

    def __gt__(self, other: Any) -> Any:
        return self._asked(other, operator.gt)

    def __ge__(self, other: Any) -> Any:
        return self._asked(other, operator.ge)

    def __eq__(self, other: object) -> Any:
        return self._asked(other, operator.eq)

    def __ne__(self, other: object) -> Any:
        return self._asked(other, operator.ne)

    def __bool__(self) -> bool:
        return hold(self.parts != 0)

    # What has an answer for one row only

    def _one(self) -> Any:
        raise OneByOne

    def __hash__(self) -> int:  # type: ignore[override]
        return cast("int", self._one())

    def __float__(self) -> float:
        return cast("float", self._one())

    def __int__(self, *_: Any) -> int:
        return cast("int", self._one())

    def __trunc__(self) -> int:
        return cast("int", self._one())

    def __round__(self, ndigits: Any = None) -> Any:
        return self._one()

    def as_integer_ratio(self) -> tuple[int, int]:
        return cast("tuple[int, int]", self._one())

    def limit_denominator(self, max_denominator: int = 0) -> Fraction:
        return cast("Fraction", self._one())

    @property
    def numerator(self) -> int:
        return cast("int", self._one())

    @property
    def denominator(self) -> int:
        return cast("int", self._one())

    def __str__(self) -> str:
        return UNTOLD

    __repr__ = __str__

    def __format__(self, spec: str) -> str:
        return UNTOLD


def each_row(function: F) -> F:
    """A function of figures that works row by row where it is given many: one that mathematics has no whole parts for."""

    @wraps(function)
    def of_rows(*figures: Any) -> Any:
        many = [figure for figure in figures if isinstance(figure, Many)]
        if not many:
            return function(*figures)
        active, kept = _active().tolist(), dict[tuple[Any, ...], Fraction]()
        columns = [
            figure.fractions() if isinstance(figure, Many) else [figure] * len(active) for figure in figures
        ]
        made = [Fraction(0)] * len(active)
        for number, arguments in enumerate(zip(*columns, strict=True)):
            if active[number]:
                if arguments not in kept:
                    kept[arguments] = function(*arguments)
                made[number] = kept[arguments]
        return of(made)

    return cast("F", of_rows)


def by_float(function: Callable[[float], float]) -> Callable[[Fraction], Fraction]:
    """A function of floats for exact figures, one or many: of the float nearest to each, and exactly what it gives."""

    @wraps(function)
    def of_figure(figure: Fraction) -> Fraction:
        if not isinstance(figure, Many):
            return Fraction(function(float(figure)))
        active = _active()
        pairs = zip(figure.floats().tolist(), active.tolist(), strict=True)
        return _of_floats([function(number) if here else 0.0 for number, here in pairs])

    return of_figure


def as_text(write: W) -> W:
    """A function that writes figures as text: of many it writes none."""

    @wraps(write)
    def written(*figures: Any, **how: Any) -> str:
        try:
            return write(*figures, **how)
        except OneByOne:
            return UNTOLD

    return cast("W", written)


def kept_text(write: W) -> W:
    """As as_text; what is written is kept, by whole numbers: they are found sooner than a Fraction."""

    @lru_cache(maxsize=4096)
    @wraps(write)
    def kept(ratio: tuple[int, int], *words: Any, **how: Any) -> str:
        return write(Fraction(*ratio), *words, **how)

    @wraps(write)
    def written(figure: Fraction, *words: Any, **how: Any) -> str:
        try:
            return kept(figure.as_integer_ratio(), *words, **how)
        except OneByOne:
            return UNTOLD

    return cast("W", written)


def of(figures: list[Fraction]) -> Many:
    """The figures of some rows as one."""
    bottom = 1
    for figure in {figure.denominator for figure in figures}:
        bottom = bottom * figure // gcd(bottom, figure)
    parts = [figure.numerator * (bottom // figure.denominator) for figure in figures]
    most = max(map(abs, parts), default=0)
    return Many(_array(parts, object if most >= _WHOLE else "int64"), Fraction(1, bottom), None, most)


def floats_of(figure: Fraction) -> Any:
    """A figure as a float; one of many rows as an array of them."""
    return figure.floats() if isinstance(figure, Many) else float(figure)


def _over_one(figure: Many) -> Array:
    return abs(figure.parts) * 0 + 1 if figure.under is None else figure.under


def _roots(over: Array, under: Array) -> Many:
    """The roots of quotients of numbers whose products a float holds exactly."""
    np = arrays()
    product = over * under
    whole = np.rint(np.sqrt(product)).astype("int64")
    exact = whole * whole == product
    root = np.where(exact, 1.0, np.sqrt(over / under))
    bits = 53 - int(np.frexp(root)[1].min())
    scaled = np.ldexp(root, bits)
    kind = "int64" if float(scaled.max()) < _WHOLE and bits < 62 else object
    parts = np.where(exact, whole.astype(kind), scaled.astype(kind) if kind == "int64" else _whole(scaled))
    return Many(parts, Fraction(1), np.where(exact, under.astype(kind), 2**bits), 0)


def _whole(numbers: Array) -> Array:
    return _array([int(number) for number in numbers.tolist()], object)


def _of_floats(numbers: list[float]) -> Many:
    """The figures that some floats are exactly."""
    bits = max((53 - frexp(number)[1] for number in numbers if number), default=0)
    parts = [int(ldexp(number, bits)) for number in numbers]
    most = max(map(abs, parts), default=1)
    return Many(_array(parts, object if most >= _WHOLE else "int64"), Fraction(1, 2) ** bits, None, most)


def _figure(parts: Array, scale: Fraction, under: Array, most: int) -> Many:
    """A figure whose numbers fit, or are told to."""
    if most >= _WHOLE:
        most = _largest(parts, under)
    return Many(parts, scale, under, most)


def _largest(parts: Array, under: Array) -> int:
    if not len(parts):
        return 1
    most = int(abs(parts).max())
    return max(most, 1, 1 if under is None else int(under.max()))


def _times(one: Array, most: int, other: Array, more: int) -> tuple[Array, int]:
    """A product of whole numbers, and what none of it is more than: in Python's own where 64 bits may not hold it."""
    if most * more >= _WHOLE:
        one = one.astype(object) if hasattr(one, "astype") else one
        other = other.astype(object) if hasattr(other, "astype") else other
    return one * other, most * more


def _over(one: Array, most: int, other: Array, more: int) -> Array:
    if one is None or other is None:
        return other if one is None else one
    return _times(one, most, other, more)[0]


def _together(one: Many, other: int | Fraction) -> tuple[Array, Array, Array, Fraction, int]:
    """Two figures as parts of one scale over the same: (parts, parts of the other, under, scale, none is larger)."""
    if isinstance(other, Many):
        top = gcd(
            one.scale.numerator * other.scale.denominator, other.scale.numerator * one.scale.denominator
        )
        scale = Fraction(top, one.scale.denominator * other.scale.denominator)
        theirs, most_of_theirs = _times(other.parts, other.most, *_twice(int(other.scale / scale)))
    else:
        exact = Fraction(other)
        top = gcd(one.scale.numerator * exact.denominator, exact.numerator * one.scale.denominator)
        scale = Fraction(top, one.scale.denominator * exact.denominator)
        theirs = int(exact / scale)
        most_of_theirs = abs(theirs)
    mine, most = _times(one.parts, one.most, *_twice(int(one.scale / scale)))
    under = other.under if isinstance(other, Many) else None
    if one.under is not under:
        if one.under is not None:
            theirs, most_of_theirs = _times(theirs, most_of_theirs, one.under, one.most)
        if under is not None and isinstance(other, Many):
            mine, most = _times(mine, most, under, other.most)
        under = _over(one.under, one.most, under, other.most if isinstance(other, Many) else 1)
    most = max(most, most_of_theirs)
    if 2 * most >= _WHOLE:
        mine, theirs = (x.astype(object) if hasattr(x, "astype") else x for x in (mine, theirs))
    return mine, theirs, under, scale, most


def _twice(whole: int) -> tuple[int, int]:
    return whole, abs(whole)


def arrays() -> Any:
    """The library of arrays, numpy. Raises UsageError where it is not installed."""
    try:
        import numpy
    except ImportError:
        raise UsageError(
            "A library is missing",
            "Judging many fireplaces at once needs numpy, which is not installed.",
            fix="Install the extra: python3 -m pip install 'hearthcalc[arrays]'.",
        ) from None
    return numpy


def _array(values: Sequence[Any], kind: Any) -> Array:
    return arrays().array(values, dtype=kind)
