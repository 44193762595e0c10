"""The forces of supports by another route: their lines, and the state that follows from them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import Choice, NoAnswer, Value
from refsolver.statics.bodies.supports import ONE_WAY, PlaneSupport, SpaceSupport
from refsolver.statics.contract import Residual
from refsolver.statics.residuals import of_bearing, of_sign
from refsolver.statics.vectors import unit_vector

__all__ = ["count_residuals", "support_residuals"]


def support_residuals(
    supports: Sequence[PlaneSupport | SpaceSupport],
    names: Sequence[str],
    answers: Mapping[str, Value],
    size: Number,
    ar: Arithmetic,
) -> list[Residual]:
    """That each signed force acts along its stated line, and that the state follows from them.

    Nothing of what is refused. ``answers``: "reactions", "forces" and "state"; ``size``: of
    the forces that balance.
    """
    residuals, one_way = [], []
    for support, name in zip(supports, names, strict=True):
        force = answers["forces"].get(name)
        if force is None or isinstance(force, NoAnswer):
            continue
        if support.kind in ONE_WAY:
            one_way.append(force)
        assert support.direction is not None
        along = unit_vector(support.direction, ar)
        for letter, x, u in zip("xyz", answers["reactions"][name], along, strict=False):
            residuals.append(Residual(f"line of {name}, along {letter}", x - force * u, size))
    state = answers["state"]
    if isinstance(state, Choice):
        residuals += of_bearing(state.word, one_way, size, ar)
    return residuals


def count_residuals(
    unknowns: int, equations: int, answers: Mapping[str, Value], ar: Arithmetic
) -> list[Residual]:
    """Degree and word against the count of unknowns and equations.

    Unknowns beyond the independent equations, less motions left free, are unknowns less
    equations, whatever the rank.
    """
    word, degree = answers["constraint"].word, answers["degree"]
    excess, one = ar.bring(fmpq(unknowns - equations)), ar.bring(fmpq(1))
    if word in ("determinate", "redundant"):
        sign = 1 if word == "redundant" else -1
        held = of_sign("constraint", sign, 2 * degree - 1, one, ar)
        return [Residual("unknowns less equations", degree - excess, one), held]
    residuals = [of_sign("motions left free", 1, 2 * (degree - excess) - 1, one, ar)]
    if word == "partially constrained":
        residuals.append(of_sign("too few unknowns", 1, -2 * excess - 1, one, ar))
    if word == "improperly constrained":
        residuals.append(of_sign("enough unknowns", 1, 2 * excess + 1, one, ar))
    return residuals
