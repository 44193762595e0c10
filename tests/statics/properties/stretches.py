"""What grows with one measure alone: a gate twice as wide, a shape twice as high.

Dimensional homogeneity multiplies all lengths together; here one set of givens is
multiplied and each answer goes by a power of the factor. An area stretched along one axis is
an affine map of the plane, a density doubled leaves centres where they are.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.exact import Turn
from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.folding import times
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.contract import Family
from refsolver.statics.givens import pattern_of, replaced, walk
from tests.statics.properties.claims import Answers, Claim, Identity
from tests.statics.properties.values import Rescaled, changed

FACTORS = (fmpq(2), fmpq(1, 3), fmpq(5, 7))
SHARES = (fmpq(1, 2), fmpq(2, 3), fmpq(5, 7))
"""Of what can be no larger, as an angle swept through."""

Power = int | tuple[int, ...]


@attrs.frozen
class Stretch:
    """Givens of ``patterns`` times a factor: answers times its ``powers``, of points by axis.

    ``when`` says of which givens that holds.
    """

    patterns: frozenset[str]
    powers: Mapping[str, Power]
    name: str = "stretch"
    when: Callable[[Any], bool] = lambda given: True
    factors: tuple[fmpq, ...] = FACTORS


def stretched(stretch: Stretch) -> Identity:
    """The identity of a family one measure of which is stretched."""

    def claim(owner: Family, given: Any, rng: random.Random) -> Claim | None:
        if not stretch.when(given):
            return None
        factor = rng.choice(stretch.factors)
        changes = {
            path: _multiplied(leaf, factor)
            for path, leaf, _ in walk(given)
            if pattern_of(path) in stretch.patterns
        }
        if not changes:
            return None
        try:
            other = replaced(given, changes)
        except ValueError:
            return None

        def expect(before: Answers) -> Answers:
            return {
                name: _raised(owner.answers[name].kind, before[name], factor, power)
                for name, power in stretch.powers.items()
            }

        return Claim(other, [(owner, given)], expect)

    return Identity(stretch.name, claim)


def _multiplied(leaf: Any, factor: fmpq) -> Any:
    if isinstance(leaf, Turn):
        return Turn(leaf.turns * factor)
    return times(factor, leaf)


def _raised(kind: Any, value: Value, factor: fmpq, power: Power) -> Value:
    if isinstance(value, NoAnswer):
        return value
    if isinstance(power, tuple):
        return tuple(x * factor**p for x, p in zip(value, power, strict=True))

    def multiple(dimension: Dimension) -> fmpq:
        return factor**power

    return changed(kind, value, Rescaled(multiple))


def _all(power: int, *names: str) -> dict[str, Power]:
    return dict.fromkeys(names, power)


def _surface(*widths: str) -> Stretch:
    return Stretch(
        frozenset(widths),
        _all(1, "force", "horizontal", "vertical", "moment about top", "moment about bottom")
        | _all(0, "depth", "from top", "from bottom", "mean pressure", "pressure at top",
               "pressure at bottom"),
        "as wide again",
    )  # fmt: skip


EDGES = frozenset({"regions[*].upper[*].coefficient", "regions[*].lower[*].coefficient"})
ALONG = frozenset({"regions[*].start", "regions[*].end", "reference"})
UNDER = {"area": 1, "Q_x": 2, "Q_y": 1, "centroid": (0, 1)}
"""Powers of the height; along the axis x and y change parts."""
SECOND: Mapping[str, Power] = {
    "area": 1, "I_x": 3, "I_y": 1, "I_xy": 2, "centroid": (0, 1), "k_x": 1, "k_y": 0,
    "centroidal I_x": 3, "centroidal I_y": 1, "centroidal I_xy": 2,
}  # fmt: skip
_OTHER_AXIS = {"Q_x": "Q_y", "Q_y": "Q_x", "I_x": "I_y", "I_y": "I_x", "k_x": "k_y",
               "k_y": "k_x", "centroidal I_x": "centroidal I_y",
               "centroidal I_y": "centroidal I_x"}  # fmt: skip


def _along(powers: Mapping[str, Power]) -> dict[str, Power]:
    turned = {_OTHER_AXIS.get(name, name): power for name, power in powers.items()}
    return {**turned, "centroid": (1, 0)}


def _both_ways(powers: Mapping[str, Power]) -> tuple[Stretch, ...]:
    return (
        Stretch(EDGES, powers, "as high again"),
        Stretch(ALONG, _along(powers), "as long again"),
    )


PLATE = ("mass", "M_x", "M_y", "I_x", "I_y", "polar")
DENSER = frozenset({"density[*].coefficient"})
TURNED = frozenset({"turn"})

STRETCHES: Mapping[str, tuple[Stretch, ...]] = {
    "hydrostatics/straight-sided-surface": (
        _surface("panels[*].top_width", "panels[*].bottom_width"),
    ),
    "hydrostatics/curved-sided-surface": (_surface("terms[*].width"),),
    "hydrostatics/hinged-gate": (
        Stretch(
            frozenset({"panels[*].top_width", "panels[*].bottom_width", "weight"}),
            _all(1, "fluid force", "fluid moment", "holding force", "hinge across",
                 "hinge along", "hinge"),
            "as wide again",
        ),
    ),
    "hydrostatics/profile-gate": (
        Stretch(
            frozenset({"width", "plates[*].weight"}),
            _all(1, "forces", "fluid force", "fluid moment", "support", "hinge")
            | _all(0, "places"),
            "as wide again",
        ),
    ),
    "hydrostatics/arc-gate": (
        Stretch(
            frozenset({"width"}),
            _all(1, "force") | _all(0, "depth of horizontal", "distance of vertical"),
            "as wide again",
        ),
    ),
    "hydrostatics/leaning-face": (
        Stretch(
            frozenset({"width"}),
            _all(1, "force", "moment about foot")
            | _all(0, "depth of horizontal", "distance of vertical"),
            "as wide again",
        ),
    ),
    "hydrostatics/lock-gates": (
        Stretch(
            frozenset({"width"}),
            _all(1, "fluid force", "mitre force", "hinge force", "upper hinge", "lower hinge")
            | _all(0, "height"),
            "as wide again",
        ),
    ),
    "hydrostatics/gravity-dam": (
        Stretch(
            frozenset({"length"}),
            _all(1, "weight", "thrust", "vertical", "overturning moment", "righting moment")
            | _all(0, "overturning factor", "sliding factor", "from toe", "eccentricity",
                   "pressure at toe", "pressure at heel", "state"),
            "as long again",
        ),
    ),
    "hydrostatics/floating-prism": (
        Stretch(
            frozenset({"length", "weights[*].weight", "pull"}),
            _all(1, "weight", "further load", "steadying pull")
            | _all(0, "draught", "centre of buoyancy", "metacentric radius", "metacentre",
                   "centre of gravity", "metacentric height", "state", "greatest heights",
                   "draught when pulled"),
            "as long again",
            when=lambda given: given.length is not None,
        ),
    ),
    "centroids/between-curves": _both_ways(UNDER),
    "second-moments/between-curves": _both_ways(SECOND),
    "centroids/solid-of-revolution": (
        Stretch(EDGES, {"volume": 2, "first moment": 2, "centroid": 0}, "as thick again"),
        Stretch(ALONG, {"volume": 1, "first moment": 2, "centroid": 1}, "as long again"),
    ),
    "centroids/under-curve": (
        Stretch(frozenset({"height"}), UNDER, "as high again"),
    ),
    "centroids/lamina": (
        Stretch(
            DENSER, _all(1, *PLATE) | _all(0, "centre", "k_x", "k_y", "polar k"), "as dense again"
        ),
    ),
    "centroids/ring-lamina": (
        Stretch(
            DENSER, _all(1, *PLATE) | _all(0, "centre", "k_x", "k_y", "polar k"), "as dense again"
        ),
    ),
    "centroids/rod": (
        Stretch(
            DENSER,
            _all(1, "mass", "first moment", "moment of inertia")
            | _all(0, "centre", "radius of gyration"),
            "as dense again",
        ),
    ),
    "centroids/pappus-surface": (
        Stretch(
            TURNED, _all(1, "surface", "way") | _all(0, "length", "distance"), "turned less far",
            factors=SHARES,
        ),
    ),
    "centroids/pappus-volume": (
        Stretch(
            TURNED, _all(1, "volume", "way") | _all(0, "area", "distance"), "turned less far",
            factors=SHARES,
        ),
    ),
    "mass-moments/composite": (
        Stretch(
            frozenset({"bodies[*].mass"}),
            _all(1, "moment of inertia", "mass") | _all(0, "radius of gyration"),
            "as dense again",
        ),
    ),
    "second-moments/parallel-axis": (
        Stretch(
            frozenset({"area", "moment"}),
            _all(1, "moment", "centroidal") | _all(0, "radius of gyration"),
            "as dense again",
        ),
    ),
}  # fmt: skip
