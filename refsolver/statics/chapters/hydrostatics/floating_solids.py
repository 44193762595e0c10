"""Spheres, cones, cylinders and wedges floating: how deep they lie.

The volume submerged over the whole volume is the relative density; the depth follows from
a root that is proven to be the only one. Source of the volumes: any handbook table of
solids (spherical cap, cone, circular segment), from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH, NUMBER
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics.chapters.hydrostatics.fluids import AFLOAT
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    choice,
    quantity,
)
from refsolver.statics.drawing import Drawing, Primitive, Region, Stroke
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["FloatingSolid", "Solid"]

SHAPES = ("sphere", "cone point down", "cone point up", "lying cylinder", "wedge edge down")
_ROUND = ("sphere", "lying cylinder")


@attrs.frozen
class Solid:
    shape: str = choice(SHAPES, "what floats, and which way up")
    relative_density: Exact = quantity(
        NUMBER, "mean density of the body over that of the fluid", sign="positive"
    )
    width: Exact = quantity(
        LENGTH, "diameter of a sphere, cylinder or cone's base; width of a wedge's top",
        sign="positive",
    )  # fmt: skip
    height: Exact | None = quantity(LENGTH, "of a cone or wedge", sign="positive", default=None)

    def __attrs_post_init__(self) -> None:
        if (self.height is None) != (self.shape in _ROUND):
            says = "takes no height" if self.shape in _ROUND else "needs its height"
            raise ValueError(f"a {self.shape} {says}")


def depth_share(shape: str, density: Number, ar: Arithmetic) -> Number:
    """The depth over the whole height at which the share ``density`` is submerged."""
    if shape == "wedge edge down":
        return ar.sqrt(density)
    if shape == "sphere":
        return ar.root(
            lambda x: (3 - 2 * x) * x * x - density, lambda x: 6 * x * (1 - x), _WHOLE, "depth"
        )
    if shape == "lying cylinder":
        pi = ar.pi()
        share = ar.root(
            lambda x: x - ar.sin(2 * pi * x) / (2 * pi) - density,
            lambda x: 1 - ar.cos(2 * pi * x),
            _WHOLE,
            "half the angle submerged, over pi",
        )
        return (1 - ar.cos(pi * share)) / 2
    tip = density if shape == "cone point down" else 1 - density
    reach = ar.root(lambda x: x * x * x - tip, lambda x: 3 * x * x, _WHOLE, "height of the tip")
    return reach if shape == "cone point down" else 1 - reach


_WHOLE = (fmpq(0), fmpq(1))
_SINKS = NoAnswer("no solution", "the body is denser than the fluid and does not float")


@register
class FloatingSolid(Family):
    name = "hydrostatics/floating-solid"
    title = "Depth at which a sphere, cone, cylinder or wedge floats"
    givens = Solid
    answers = {
        "depth": Answer(ScalarKind(LENGTH), "of its lowest point", ("no solution",)),
        "above": Answer(
            ScalarKind(LENGTH), "height of its highest point above the surface", ("no solution",)
        ),
        "waterline": Answer(ScalarKind(LENGTH), "its width at the surface", ("no solution",)),
        "depth share": Answer(ScalarKind(NUMBER), "depth over whole height", ("no solution",)),
    }
    rules = {"depth_share": depth_share}
    mistakes = (
        Mistake(
            "depth in proportion to the density",
            "the share of the height is taken for that of the volume",
            rules={"depth_share": lambda shape, density, ar: density},
        ),
        Mistake(
            "square root for the shape",
            "every body is treated as a wedge",
            rules={"depth_share": lambda shape, density, ar: ar.sqrt(density)},
        ),
        Mistake(
            "cone the wrong way up",
            "the point of a cone is taken up for down, or down for up",
            givens=lambda given: (
                {
                    "cone point down": attrs.evolve(given, shape="cone point up"),
                    "cone point up": attrs.evolve(given, shape="cone point down"),
                }.get(given.shape)
                if given.shape.startswith("cone")
                else None
            ),
        ),
    )
    method = (
        "share submerged = relative density: sphere x^2 (3 - 2 x), cone x^3 from its point, "
        "cylinder (a - sin a cos a) / pi with x = (1 - cos a) / 2, wedge x^2; x = depth / height"
    )
    second_method = (
        "the volume submerged by Simpson's rule over level slices, exact for these solids; of a "
        "cylinder by sector less triangle from the width at the surface"
    )
    caution = AFLOAT

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        density = ar.bring(given.relative_density)
        floats = ar.sign(1 - density, "lighter than the fluid")
        if floats < 0:
            return Solution(dict.fromkeys(self.answers, _SINKS))
        width = ar.bring(given.width)
        height = width if given.height is None else ar.bring(given.height)
        share = rules.depth_share(given.shape, density, ar) if floats else ar.bring(fmpq(1))
        depth = share * height
        answers = {
            "depth": depth,
            "above": height - depth,
            "waterline": _width_at(given.shape, share, ar) * width,
            "depth share": share,
        }
        sheets = (
            number_sheet("Share of the height", {"x": share}, self.method, NUMBER),
            number_sheet("Depth", {"depth": depth, "above": height - depth}, "", LENGTH),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["depth"], NoAnswer):
            return []
        density, width = ar.bring(given.relative_density), ar.bring(given.width)
        height = width if given.height is None else ar.bring(given.height)
        share, one = answers["depth share"], ar.bring(fmpq(1))
        if given.shape == "lying cylinder":
            found = _segment_share(share, ar)
        else:
            slices = [_slice(given.shape, x) for x in (share * 0, share / 2, share)]
            found = share / 6 * (slices[0] + 4 * slices[1] + slices[2])
        across = answers["waterline"] / width
        if given.shape in _ROUND:
            off = across * across - 4 * share * (1 - share)
        else:
            off = across - (share if "down" in given.shape else answers["above"] / height)
        return [
            Residual("volume submerged", found - density, one),
            Residual("width at the surface", off, one),
            Residual("whole height", answers["above"] + answers["depth"] - height, height),
            Residual("share of the height", answers["depth"] - share * height, height),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        width = ar.bring(given.width)
        height = width if given.height is None else ar.bring(given.height)
        sinks = isinstance(answers["depth"], NoAnswer)
        low = -1.5 * height if sinks else -answers["depth"]
        points: tuple[tuple[float, float], ...]
        if given.shape in _ROUND:
            turns = [math.tau * i / 48 for i in range(48)]
            points = tuple(
                (width / 2 * math.sin(a), low + width / 2 * (1 - math.cos(a))) for a in turns
            )
        elif "down" in given.shape:
            points = ((0.0, low), (width / 2, low + height), (-width / 2, low + height))
        else:
            points = ((0.0, low + height), (-width / 2, low), (width / 2, low))
        level = Stroke((-width, 0.0), (width, 0.0), "surface", "construction")
        parts: tuple[Primitive, ...] = (level, Region(points, given.shape))
        return Drawing(parts, "The body as it floats, seen from the side, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Solid:
        """A body lighter than the fluid by about 1/kappa, so that little stands out."""
        target = log_uniform(rng, kappa)
        shape = rng.choice(SHAPES)
        density = 1 - decimal(rng.uniform(0.2, 0.8) / target, figures_for(target))
        height = None if shape in _ROUND else drawn(rng, 1, 9)
        return Solid(shape, density, drawn(rng, 1, 9), height)


def _width_at(shape: str, share: Number, ar: Arithmetic) -> Number:
    """Width at a share of the height over the greatest width."""
    if shape in _ROUND:
        return 2 * ar.sqrt(share * (1 - share))
    return share if "down" in shape else 1 - share


def _slice(shape: str, share: Number) -> Number:
    """Area of a level slice times the height, over the whole volume."""
    if shape == "sphere":
        return 6 * share * (1 - share)
    if shape == "wedge edge down":
        return 2 * share
    reach = share if "down" in shape else 1 - share
    return 3 * reach * reach


def _segment_share(share: Number, ar: Arithmetic) -> Number:
    """Circular segment below a level over the circle: sector less triangle."""
    half, below = 2 * ar.sqrt(share * (1 - share)), 1 - 2 * share
    quarter = ar.atan2(ar.sqrt(share), ar.sqrt(1 - share), "quarter of the angle submerged")
    return (2 * quarter - half * below) / ar.pi()
