"""Equilibrium of any number of free bodies: which unknowns it determines, and their values.

:func:`equilibrium` takes the equations of :mod:`.free_body`, decides how
many of them are independent, and solves for every unknown that equilibrium alone determines.

The decision is exact wherever the geometry is rational: unknowns and loads are then built in
whole fractions (:class:`.independence.Rationals`), and rank, motions and
the values themselves are worked out there. Unknowns at irrational angles are solved in
numbers beside the exact rest. Where that does not do, a square system is proven regular by
its solution, and everything else by an elimination whose pivots are decided by name.

Source of the method: any text of statics on free bodies and proper constraint, for instance
R. C. Hibbeler, "Engineering Mechanics: Statics", sections 5.3 to 5.7 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import cached_property

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number, Singular
from refsolver.arithmetic.elimination import Elimination
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.bodies.free_body import Action, Body, Equations, Unknown, equations
from refsolver.statics.bodies.independence import (
    OPAQUE,
    Irrational,
    Ranking,
    Rationals,
    Sparse,
    exact_ranking,
    proven_ranking,
)
from refsolver.statics.worked_out import LastWorkedOut

__all__ = ["Equilibrium", "equilibrium", "gives_way"]


@attrs.frozen
class Equilibrium:
    """What equilibrium says: values, or why there are none.

    ``values`` holds the unknowns that equilibrium determines, all of them in a determinate
    case, none where the loads are not balanced. ``unbalanced`` names an equation that the
    loads violate although no unknown can help. ``motions`` are the free motions as velocity
    by name of equation, known where the geometry is rational; ``deforms`` says that one of
    them changes the shape of the whole, so that no better support would stop it.
    ``columns`` are what each unknown contributes, by number of equation, in fractions where
    these are known, given only where the motions are not known.
    """

    names: tuple[str, ...]
    keys: tuple[str, ...]
    rank: int
    values: Mapping[str, Number]
    unbalanced: str = ""
    motions: tuple[Mapping[str, fmpq], ...] = ()
    deforms: bool = False
    columns: Sparse = ()

    @property
    def free_motions(self) -> int:
        """Independent motions the unknowns do not prevent."""
        return len(self.names) - self.rank

    @property
    def redundants(self) -> int:
        """Unknowns beyond those that equilibrium can determine."""
        return len(self.keys) - self.rank

    def moving(self) -> list[str]:
        """The bodies that take part in a free motion, in order."""
        held = {name for motion in self.motions for name in motion}
        return list(dict.fromkeys(n.rpartition(": ")[0] for n in self.names if n in held))

    def refusal(self) -> NoAnswer | None:
        """Why there is no equilibrium worth the name, for every answer alike.

        A constraint that is only partial but not needed by the loads (a beam on two
        rollers under vertical loads) is no reason.
        """
        counts = (
            f"{len(self.names)} equations, {self.rank} of them independent, "
            f"{len(self.keys)} unknowns"
        )
        moving = ", ".join(filter(None, self.moving()))
        if moving:
            counts += f"; free to move: {moving}"
        if self.free_motions and self.redundants + self.rank >= len(self.names):
            reason = "mechanism" if self.deforms else "improper constraint"
            return NoAnswer(reason, counts)
        if self.unbalanced:
            return NoAnswer("mechanism", f"{counts}; not satisfied: {self.unbalanced}")
        return None

    def missing(self, key: str) -> NoAnswer | None:
        """Why this unknown has no value; None where it has one."""
        if key in self.values:
            return None
        return self.refusal() or NoAnswer("redundant", self._excess())

    def _excess(self) -> str:
        unknown = [key for key in self.keys if key not in self.values]
        return (
            f"{self.redundants} unknowns more than independent equations; not determined: "
            f"{', '.join(unknown)}"
        )


def equilibrium(
    bodies: Sequence[Body],
    space: int,
    unknowns: Callable[[Arithmetic], Sequence[Unknown]],
    loads: Callable[[Arithmetic], Sequence[Action]],
    ar: Arithmetic,
    name: str = "equilibrium",
    of: tuple[object, ...] = (),
) -> Equilibrium:
    """The equations of all bodies, their rank, and the unknowns they determine.

    ``unknowns`` and ``loads`` build the unknown and the known actions in the arithmetic they
    are handed: ``ar``, or :class:`.independence.Rationals`, so that what is
    rational stays exact. ``name`` begins the names of all decisions. ``of`` holds whatever
    bodies, unknowns and loads are made of: what whole fractions say of them is worked out once
    for all arithmetics that solve with these very objects.
    """
    exact = _LAST.of(of, lambda: _in_fractions(bodies, space, unknowns, loads))
    if exact is None:
        return _by_proof(equations(bodies, space, unknowns(ar), loads(ar)), ar, name)
    if exact.opaque:
        written = equations(bodies, space, unknowns(ar), loads(ar))
        return _partly_in_fractions(exact, written, ar, name)
    if exact.balance is not None:
        values, left = exact.balance
        if left or ar.proves:
            return _stated(exact.frame, exact.ranking, values, left, ar)
    elif ar.proves:
        numbers = equations(bodies, space, (), loads(ar))
        right = _merged(exact.frame, numbers, exact.right).right
        return _under_numbers(exact, right, ar, name)
    written = equations(bodies, space, unknowns(ar), loads(ar))
    return _solved(written, exact.ranking, ar, name, balanced=exact.balance is not None)


@attrs.frozen(slots=False)
class _InFractions:
    """What whole fractions say of the equations, whatever arithmetic they are solved in.

    ``opaque`` are the unknowns at irrational angles, which the elimination leaves out;
    ``right`` is None where a decision about the loads is not rational.
    """

    frame: Equations
    opaque: Sequence[int]
    right: Mapping[int, Number] | None

    @cached_property
    def rational(self) -> Sequence[int]:
        return [j for j in range(len(self.frame.keys)) if j not in self.opaque]

    @cached_property
    def elimination(self) -> Elimination:
        columns = [self.frame.columns[j] for j in self.rational]
        return Elimination(columns, len(self.frame.names))

    @cached_property
    def ranking(self) -> Ranking:
        return exact_ranking(self.elimination)

    @cached_property
    def balance(self) -> tuple[Mapping[int, Number], Mapping[int, Number]] | None:
        """The unknowns, and what is left of the idle equations; None under irrational loads."""
        if self.right is None or OPAQUE in self.right.values():
            return None
        return self.elimination.solve(self.right)


_LAST: LastWorkedOut[_InFractions | None] = LastWorkedOut()


def _in_fractions(
    bodies: Sequence[Body],
    space: int,
    unknowns: Callable[[Arithmetic], Sequence[Unknown]],
    loads: Callable[[Arithmetic], Sequence[Action]],
) -> _InFractions | None:
    """None where a decision about the geometry is not rational."""
    exact: Arithmetic = Rationals()  # type: ignore[assignment]
    try:
        frame = equations(bodies, space, unknowns(exact), ())
    except Irrational:
        return None
    opaque = [j for j, column in enumerate(frame.columns) if OPAQUE in column.values()]
    try:
        right = equations(bodies, space, (), loads(exact)).right
    except Irrational:
        return _InFractions(frame, opaque, None)
    return _InFractions(frame, opaque, right)


def _partly_in_fractions(
    exact: _InFractions, written: Equations, ar: Arithmetic, name: str
) -> Equilibrium:
    """Unknowns at irrational angles, solved beside the others."""
    known = _merged(exact.frame, written, exact.right)
    rational, opaque, exact_part = exact.rational, exact.opaque, exact.elimination
    ranking, found = None, None
    if exact_part.free or len(exact_part.idle) != len(opaque):
        ranking = _ranking_beside(exact_part, known, rational, opaque, ar, name)
        if ranking is not None and not ar.proves:
            found = _solved(written, ranking, ar, name)
    if ar.proves and (ranking or not exact_part.free):
        found = _bordered(exact_part, known, rational, opaque, ranking, ar, name)
    return attrs.evolve(found or _by_proof(written, ar, name), columns=known.columns)


def gives_way(
    found: Equilibrium, whole: Sequence[Mapping[int, fmpq]], ar: Arithmetic, name: str
) -> bool:
    """Whether a free motion is more than one of the whole, so that bodies move apart.

    ``whole`` are independent motions of all bodies as one, by number of equation. Where the
    free motions are not known, they are counted: those of the whole are as many as the
    unknowns leave to it. ``name`` begins the names of the decisions.
    """
    if not found.free_motions:
        return False
    if found.motions:
        rows = {name: i for i, name in enumerate(found.names)}
        free = [{rows[name]: x for name, x in motion.items()} for motion in found.motions]
        height = len(found.names)
        return Elimination([*whole, *free], height).rank > Elimination(whole, height).rank
    columns, keys = [], []
    for key, column in zip(found.keys, found.columns, strict=bool(found.columns)):
        powers = {n: _power(column, motion, ar) for n, motion in enumerate(whole)}
        acting = {n: _number(x, ar) for n, x in powers.items() if x is not None}
        columns += [acting] if acting else []
        keys += [key] if acting else []
    motions = [f"motion {n}" for n in range(1, len(whole) + 1)]
    held = proven_ranking(columns, motions, keys, ar, name)
    return bool(found.columns) and found.free_motions > len(whole) - len(held.rows)


def _power(
    column: Mapping[int, Number], motion: Mapping[int, fmpq], ar: Arithmetic
) -> Number | None:
    """What a unit of an unknown does in a motion; None where it does nothing for certain."""
    exact, numbers = fmpq(0), []
    for i, x in motion.items():
        entry = column.get(i, fmpq(0))
        if isinstance(entry, fmpq):
            exact += entry * x
        else:
            numbers.append(entry * ar.bring(x))
    if not numbers:
        return exact if exact != 0 else None
    total = ar.bring(exact)
    for part in numbers:
        total = total + part
    return total


def _under_numbers(
    exact: _InFractions, right: Mapping[int, Number], ar: Arithmetic, name: str
) -> Equilibrium:
    """A rational geometry under loads that are only known as numbers."""
    frame, found = exact.frame, exact.elimination
    values, left = found.solve(right)
    zero = ar.bring(fmpq(0))
    gaps = {i: _number(-left[i], ar) if i in left else zero for i in found.idle}
    violated = _violated(found.idle, gaps, frame.names, ar, name)
    return _stated(frame, exact.ranking, values, violated, ar)


def _number(x: Number, ar: Arithmetic) -> Number:
    return ar.bring(x) if isinstance(x, fmpq) else x


def _merged(frame: Equations, written: Equations, right: Mapping[int, Number] | None) -> Equations:
    """Fractions wherever they are known, numbers of the arithmetic at work elsewhere."""
    columns = [
        {i: number[i] if x is OPAQUE else x for i, x in known.items()}
        for known, number in zip(frame.columns, written.columns, strict=bool(written.columns))
    ]
    known = right or {}
    exact = {i: known.get(i, OPAQUE) for i in written.right}
    loads = {i: written.right[i] if x is OPAQUE else x for i, x in exact.items()}
    return Equations(frame.names, frame.keys, columns, loads)


def _ranking_beside(
    found: Elimination,
    known: Equations,
    rational: Sequence[int],
    opaque: Sequence[int],
    ar: Arithmetic,
    name: str,
) -> Ranking | None:
    """The ranking where the rational columns alone show that the system is not determinate.

    ``found`` is their elimination. The columns at irrational angles add their rank in the
    equations left idle. None where they depend on each other there: whether the rational
    ones are determined then hangs on the angles. What holds at every angle is thus proven for
    angles too of which nothing is known but a number, as one given in radians.
    """
    columns = [_left_idle(found, known.columns[j], ar) for j in opaque]
    names, keys = [known.names[i] for i in found.idle], [known.keys[j] for j in opaque]
    added = proven_ranking(columns, names, keys, ar, f"{name}: beside the rational columns")
    if len(added.columns) < len(opaque):
        return None
    exact = exact_ranking(found)
    rows = [*exact.rows, *(found.idle[n] for n in added.rows)]
    independent, determined = (
        sorted([*(rational[j] for j in some), *opaque])
        for some in (exact.columns, exact.determined)
    )
    return Ranking(tuple(sorted(rows)), tuple(independent), tuple(determined))


def _left_idle(
    found: Elimination, column: Mapping[int, Number], ar: Arithmetic
) -> dict[int, Number]:
    """What an elimination leaves of a column in its idle rows, by their place among these."""
    total: dict[int, Number] = {}
    place = {i: n for n, i in enumerate(found.idle)}
    for row, number in column.items():
        for i, share in found.solve({row: fmpq(1)})[1].items():
            part = ar.bring(share) * _number(number, ar)
            total[place[i]] = total[place[i]] + part if place[i] in total else part
    return total


def _bordered(
    found: Elimination,
    known: Equations,
    rational: Sequence[int],
    opaque: Sequence[int],
    ranking: Ranking | None,
    ar: Arithmetic,
    name: str,
) -> Equilibrium | None:
    """A system most of whose columns are rational, these eliminated in fractions: ``found``.

    What is left is a small system for the unknowns at irrational angles, and zeros that no
    angle touches come out exact. Without a ``ranking`` it is determinate, or None.
    """
    idle = [i for i in found.idle if ranking is None or i in ranking.rows]
    if len(idle) != len(opaque):
        return None
    shares = [found.solve(known.columns[j]) for j in opaque]
    fixed, left = found.solve(known.right)
    zero = fmpq(0)
    rows = [[_number(share[1].get(i, zero), ar) for share in shares] for i in idle]
    rest = [_number(left.get(i, zero), ar) for i in idle]
    try:
        solution = ar.solve_linear(rows, rest, f"{name}: at irrational angles")
    except Singular:
        return None

    def less_shares(total: Number, part: int, place: int) -> Number:
        for share, x in zip(shares, solution, strict=True):
            if place in share[part]:
                total = total - share[part][place] * x
        return _number(total, ar)

    values = dict(zip(opaque, solution, strict=True))
    for place, j in enumerate(rational):
        values[j] = less_shares(fixed.get(place, zero), 0, place)
    if ranking is None:
        stated = {known.keys[j]: x for j, x in values.items()}
        return Equilibrium(known.names, known.keys, len(known.names), stated)
    gaps = {i: -less_shares(left.get(i, zero), 1, i) for i in found.idle if i not in idle}
    violated = _violated(gaps, gaps, known.names, ar, name)
    return _stated(known, ranking, values, violated, ar)


def _violated(
    idle: Iterable[int], gaps: Mapping[int, Number], names: Sequence[str], ar: Arithmetic, name: str
) -> list[int]:
    """The first of the idle equations that the loads violate, each decided by name."""
    for i in sorted(idle):
        if ar.sign(gaps[i], f"{name}: {names[i]} left over") != 0:
            return [i]
    return []


def _stated(
    frame: Equations,
    ranking: Ranking,
    values: Mapping[int, Number],
    left: Collection[int],
    ar: Arithmetic,
) -> Equilibrium:
    """The outcome of an elimination; its fractions are brought into the arithmetic."""
    motions = tuple({frame.names[i]: x for i, x in motion.items()} for motion in ranking.motions)
    rank = len(ranking.columns)
    if left:
        return Equilibrium(frame.names, frame.keys, rank, {}, frame.names[min(left)], motions)
    zero = ar.bring(fmpq(0))
    stated = {}
    for j in ranking.determined:
        x = values.get(j, zero)
        stated[frame.keys[j]] = ar.bring(x) if isinstance(x, fmpq) else x
    return Equilibrium(frame.names, frame.keys, rank, stated, "", motions)


def _by_proof(written: Equations, ar: Arithmetic, name: str) -> Equilibrium:
    """Where the geometry is not rational."""
    if len(written.names) == len(written.keys):
        every = range(len(written.names))
        try:
            solution = ar.solve_linear(*written.square(every, every, ar.bring(fmpq(0))), name)
        except Singular:
            pass
        else:
            values = dict(zip(written.keys, solution, strict=True))
            return Equilibrium(written.names, written.keys, len(solution), values)
    ranking = proven_ranking(written.columns, written.names, written.keys, ar, name)
    return _solved(written, ranking, ar, name)


def _solved(
    written: Equations, ranking: Ranking, ar: Arithmetic, name: str, *, balanced: bool = False
) -> Equilibrium:
    """The independent equations solved in numbers; ``balanced``: the others are known to hold."""
    zero = ar.bring(fmpq(0))
    trial = dict.fromkeys(written.keys, zero)
    if ranking.columns:
        system = written.square(ranking.rows, ranking.columns, zero)
        solution = ar.solve_linear(*system, f"{name}: independent equations")
        trial.update({written.keys[j]: x for j, x in zip(ranking.columns, solution, strict=True)})
    left: list[int] = []
    if len(ranking.rows) < len(written.names) and not balanced:
        gaps = written.left_over(trial, zero)
        others = set(range(len(gaps))) - set(ranking.rows)
        left = _violated(others, dict(enumerate(gaps)), written.names, ar, name)
    values = {j: trial[written.keys[j]] for j in ranking.determined}
    return _stated(written, ranking, values, left, ar)
