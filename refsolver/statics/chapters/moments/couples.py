"""Couples: pairs of equal and opposite forces, and their sum, in the plane and in space.

Source of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", section 4.6 (from memory): a couple is a free vector.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import Kind, NoAnswer, ScalarKind, TableKind, Value, VectorKind
from refsolver.quantities.leaves import Components, Vector
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    many,
    point,
    text,
)
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke, Turning
from refsolver.statics.forces.moment_rules import (
    REVERSED,
    WRONG_Y,
    cells_of,
    listed,
    slant_arm,
    sum_of_sizes,
    turning_space,
    zero_force,
)
from refsolver.statics.forces.systems import (
    PlaneCouple,
    SpaceCouple,
    along_axes,
    distance_to_line,
    force_columns,
    is_zero_force,
    moment_columns,
    run_of,
    size_of_areas,
    sum_of,
    sum_of_vectors,
    triangle_moment,
    turning_plane,
)
from refsolver.statics.naming import distinct_rows, keys_of, of_names_alone
from refsolver.statics.random_givens import (
    decimal,
    drawn,
    drawn_point,
    drawn_vector,
    figures_for,
    log_uniform,
)
from refsolver.statics.registry import register
from refsolver.statics.vectors import (
    Numbers,
    brought,
    dot,
    length,
    magnitude_of,
    minus,
    scaled,
    vector,
)


@attrs.frozen
class PlanePair:
    force: Vector = vector_given(FORCE, "one of the two equal and opposite forces")
    at: tuple[Exact, ...] = point("a point of its line of action")
    opposite_at: tuple[Exact, ...] = point("a point of the line of the opposite force")
    name: str = text("what it is called")


@attrs.frozen
class SpacePair:
    force: Vector = vector_given(FORCE, "one of the two equal and opposite forces", space=3)
    at: tuple[Exact, ...] = point("a point of its line of action", space=3)
    opposite_at: tuple[Exact, ...] = point("a point of the line of the opposite force", space=3)
    name: str = text("what it is called")


def _some_couple(pairs: Sequence[Any], couples: Sequence[Any]) -> None:
    if not pairs and not couples:
        raise ValueError("at least one couple is needed, as a pair of forces or as a moment")


@attrs.frozen
class PlaneCouples:
    pairs: tuple[PlanePair, ...] = many(
        PlanePair, "couples stated as two forces", minimum=0, default=()
    )
    couples: tuple[PlaneCouple, ...] = many(
        PlaneCouple, "couples stated by their moments", minimum=0, default=()
    )

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        _some_couple(self.pairs, self.couples)
        distinct_rows((self.pairs, "pair"), (self.couples, "couple"))


@attrs.frozen
class SpaceCouples:
    pairs: tuple[SpacePair, ...] = many(
        SpacePair, "couples stated as two forces", minimum=0, default=()
    )
    couples: tuple[SpaceCouple, ...] = many(
        SpaceCouple, "couples stated by their moments", minimum=0, default=()
    )

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        _some_couple(self.pairs, self.couples)
        distinct_rows((self.pairs, "pair"), (self.couples, "couple"))


def between(at: Numbers, opposite_at: Numbers) -> Numbers:
    """The arm of a couple: from the line of the opposite force to that of the force."""
    return minus(at, opposite_at)


def half_between(at: Numbers, opposite_at: Numbers) -> Numbers:
    return tuple(x / 2 for x in minus(at, opposite_at))


def twice_between(at: Numbers, opposite_at: Numbers) -> Numbers:
    return scaled(2, minus(at, opposite_at))


_HALF = Mistake(
    "half the arm",
    "each force is measured from the middle and only one of the two is counted",
    {"between": half_between},
)
_TWICE = Mistake(
    "couple counted twice",
    "both forces are multiplied by the whole distance between them",
    {"between": twice_between},
)


class _Couples(Family):
    space: ClassVar[int]
    pair: ClassVar[type]
    couple: ClassVar[type]
    method = "C = r x F, r from one force of the pair to the other; couples add"
    second_method = "the moments of both forces of every pair about a third point, by areas"
    caution = cautions.MOMENTS

    def _moment_of(self, item: Any, ar: Arithmetic) -> Any:
        return ar.bring(item.moment) if self.space == 2 else vector(item.moment, ar)

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        keys = [*keys_of(given.pairs, "pair"), *keys_of(given.couples, "couple")]
        arms = [
            rules.between(brought(pair.at, ar), brought(pair.opposite_at, ar))
            for pair in given.pairs
        ]
        forces = [vector(pair.force, ar) for pair in given.pairs]
        moments = [rules.turning(arm, f, ar) for arm, f in zip(arms, forces, strict=True)]
        moments += [self._moment_of(item, ar) for item in given.couples]
        rows = [
            Row(key, (*arm, *force, *cells_of(moment)))
            for key, arm, force, moment in zip(keys, arms, forces, moments, strict=False)
        ]
        blank = (None,) * (2 * self.space)
        rows += [
            Row(key, (*blank, *cells_of(moment)))
            for key, moment in list(zip(keys, moments, strict=True))[len(arms) :]
        ]
        parts = [cells_of(moment) for moment in moments]
        total = tuple(rules.summed([part[i] for part in parts], ar) for i in range(len(parts[0])))
        sheet = Sheet(
            "Couples",
            (
                *(Column(f"r {axis}", LENGTH) for axis in along_axes(self.space)),
                *force_columns(self.space),
                *moment_columns(self.space),
            ),
            (*rows, Row("sum", (*blank, *total))),
            self.method,
        )
        answers = {
            "moment": total[0] if self.space == 2 else total,
            "moments": listed(keys, moments),
            "distances": self._distances(given, ar),
        }
        return Solution(answers, (sheet,))

    @staticmethod
    def _distances(given: Any, ar: Arithmetic) -> dict[str, Any]:
        distances: dict[str, Any] = {}
        for key, pair in zip(keys_of(given.pairs, "pair"), given.pairs, strict=True):
            if is_zero_force(pair.force, key, ar):
                distances[key] = zero_force(key)
                continue
            arm = between(brought(pair.at, ar), brought(pair.opposite_at, ar))
            distances[key] = distance_to_line(arm, run_of(pair.force, ar), ar)
        return distances

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        pole = tuple(ar.bring(rational(x)) for x in (5, -3, 7)[: self.space])
        moments, sizes = [], []
        for pair in given.pairs:
            force, at = vector(pair.force, ar), brought(pair.at, ar)
            other = brought(pair.opposite_at, ar)
            one = triangle_moment(pole, at, force)
            back = triangle_moment(pole, other, tuple(-x for x in force))
            moments.append(tuple(a + b for a, b in zip(one, back, strict=True)))
            sizes.append(size_of_areas(pole, at, force, ar) + size_of_areas(pole, other, force, ar))
        for item in given.couples:
            moment = cells_of(self._moment_of(item, ar))
            moments.append(moment)
            sizes.append(length(moment, ar))
        total = cells_of(answers["moment"])
        gaps = minus(sum_of_vectors(moments, len(total), ar), total)
        residuals = [
            Residual(f"both forces about a third point, {axis}", gap, sum_of(sizes, ar))
            for axis, gap in zip("xyz", gaps, strict=False)
        ]
        residuals += [
            Residual(f"{key}: about a third point, {axis}", gap, size)
            for (key, found), moment, size in zip(
                answers["moments"].items(), moments, sizes, strict=True
            )
            for axis, gap in zip("xyz", minus(cells_of(found), moment), strict=False)
        ]
        for (key, distance), pair, moment, size in zip(
            answers["distances"].items(), given.pairs, moments, sizes, strict=False
        ):
            if not isinstance(distance, NoAnswer):
                turning = magnitude_of(pair.force, ar) * distance
                gap = turning * turning - dot(moment, moment)
                residuals.append(Residual(f"{key}: force times distance", gap, size * size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = []
        origin = (0.0,) * self.space
        for key, pair in zip(keys_of(given.pairs, "pair"), given.pairs, strict=True):
            force, at = vector(pair.force, ar), brought(pair.at, ar)
            other = brought(pair.opposite_at, ar)
            parts += [
                Stroke(other, at, role="construction"),
                Arrow(at, force, key),
                Arrow(other, tuple(-x for x in force), ""),
            ]
        for key, item in zip(keys_of(given.couples, "couple"), given.couples, strict=True):
            parts.append(Turning(origin, self._moment_of(item, ar), key))
        parts.append(Turning(origin, answers["moment"], "sum", "answer"))
        caption = (
            f"{len(given.pairs)} pairs of opposite forces and {len(given.couples)} couples "
            "stated by their moments, with the couple they add "
            "up to; a couple may be drawn anywhere"
        )
        return Drawing(tuple(parts), caption, self.space)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        """Random pairs and one stated couple that cancels them down to about 1/kappa."""
        from refsolver.arithmetic.double import DoubleArithmetic

        given = self._drawn(rng.randint(1, 4), 0, rng)
        solved = self.solve(given, DoubleArithmetic(), self.rule_set()).answers
        target = log_uniform(rng, kappa)
        goal = [-x * (1 - 1 / target) for x in cells_of(solved["moment"])]
        exact = tuple(decimal(x, figures_for(target)) for x in goal)
        last = self.couple(exact[0] if self.space == 2 else Components(exact))
        return attrs.evolve(given, couples=(last,))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Any | None:
        pairs, couples = rows.get("pairs", 0), rows.get("couples", 0)
        return self._drawn(pairs, couples, rng) if pairs + couples else None

    def _drawn(self, pairs: int, couples: int, rng: random.Random) -> Any:
        return self.givens(
            tuple(
                self.pair(
                    drawn_vector(rng, self.space),
                    drawn_point(rng, self.space),
                    drawn_point(rng, self.space),
                )
                for _ in range(pairs)
            ),
            tuple(self.couple(self._drawn_couple(rng)) for _ in range(couples)),
        )

    def _drawn_couple(self, rng: random.Random) -> Any:
        if self.space == 2:
            return rng.choice((-1, 1)) * drawn(rng, 10, 990)
        return drawn_vector(rng, 3)


def _couple_answers(kind: Kind, refusals: tuple[str, ...]) -> dict[str, Answer]:
    return {
        "moment": Answer(kind, "the couple they add up to", refusals),
        "moments": Answer(TableKind(kind, "couple"), "of each couple", refusals),
        "distances": Answer(
            TableKind(ScalarKind(LENGTH), "pair"),
            "perpendicular distance between the two forces of each pair",
            ("not defined",),
        ),
    }


@register
class PlaneCoupleSum(_Couples):
    name = "moments/plane-couples"
    title = "Couples in the plane"
    givens = PlaneCouples
    space = 2
    pair, couple = PlanePair, PlaneCouple
    answers = _couple_answers(ScalarKind(MOMENT), ())
    rules = {"between": between, "turning": turning_plane, "summed": sum_of}
    mistakes = (
        _HALF,
        _TWICE,
        Mistake(
            "slant distance as the arm",
            "the force is multiplied by the distance between the two points, not between the lines",
            {"turning": slant_arm},
        ),
        Mistake(
            "couples added without sign",
            "all couples are taken as turning the same way",
            {"summed": sum_of_sizes},
        ),
    )


@register
class SpaceCoupleSum(_Couples):
    name = "moments/space-couples"
    title = "Couples in space"
    givens = SpaceCouples
    space = 3
    pair, couple = SpacePair, SpaceCouple
    answers = _couple_answers(VectorKind(MOMENT, 3), ("no direction",))
    rules = {"between": between, "turning": turning_space, "summed": sum_of}
    mistakes = (_HALF, _TWICE, REVERSED, WRONG_Y)
