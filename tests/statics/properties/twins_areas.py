"""Areas: families that must agree, and one family asked twice."""

from __future__ import annotations

import random
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Turn, total
from refsolver.quantities.folding import difference, over, times
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import Family
from refsolver.statics.registry import family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.twinning import TWO, picked, twin


@twin("centroids/under-curve")
def an_area_cut_in_two(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    between = over(total(given.start, given.end), TWO)
    cut = [attrs.evolve(given, end=between), attrs.evolve(given, start=between)]
    return Claim(
        given,
        [(owner, one) for one in cut],
        lambda a, b: {
            n: a[n] + b[n]
            for n in ("area", "Q_x", "Q_y")
            if not any(isinstance(cut[n], NoAnswer) for cut in (a, b))
        },
    )


@twin("second-moments/section")
def a_section_is_an_area_about_its_centroid(owner: Family, given: Any, rng: random.Random) -> Claim:
    names = {
        "area": "area",
        "centroid": "centroid",
        "I_x": "centroidal I_x",
        "I_y": "centroidal I_y",
        "I_xy": "centroidal I_xy",
        "polar": "centroidal polar",
        "k_x": "centroidal k_x",
        "k_y": "centroidal k_y",
        "polar k": "centroidal polar k",
    }
    other = family("second-moments/composite")
    return Claim(given, [(other, given)], lambda found: picked(found, names))


@twin("second-moments/composite")
def an_area_has_the_centroid_it_has(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = family("centroids/composite-area")
    names = {"area": "area", "centroid": "centroid"}
    return Claim(given, [(other, given)], lambda found: picked(found, names))


@twin("second-moments/between-curves")
def curves_enclose_one_area(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = family("centroids/between-curves")
    names = {"area": "area", "centroid": "centroid"}
    return Claim(given, [(other, given)], lambda found: picked(found, names))


@twin("second-moments/parallel-axis")
def there_and_back(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """Carried to the axis asked and from there to the one known (parallel-axis theorem)."""
    carried = total(
        given.moment,
        times(
            given.area,
            difference(times(given.wanted, given.wanted), times(given.known, given.known)),
        ),
    )
    back = attrs.evolve(given, moment=carried, known=given.wanted, wanted=given.known)
    return Claim(
        back,
        [(owner, given)],
        lambda found: {"moment": evaluate(given.moment), "centroidal": found["centroidal"]},
    )


@twin("second-moments/principal-axes")
def axes_turned_on_turn_no_principal_axis(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    """Invariants: what is largest, smallest and their sum do not depend on the turn asked."""
    if not isinstance(given.turn, Turn):
        return None
    other = attrs.evolve(given, turn=Turn(given.turn.turns + fmpq(1, 4)))

    def expect(found: Answers) -> Answers:
        names = ("maximum", "minimum", "major axis", "minor axis", "largest product", "polar")
        return {
            **{name: found[name] for name in names},
            "I_u": found["I_v"],
            "I_v": found["I_u"],
            "I_uv": -found["I_uv"],
        }

    return Claim(other, [(owner, given)], expect)


@twin("second-moments/symmetric-section")
def laid_on_its_side(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = attrs.evolve(given, i_x=given.i_y, i_y=given.i_x, depth=given.width, width=given.depth)
    names = {
        "S_x": "S_y", "S_y": "S_x", "k_x": "k_y", "k_y": "k_x", "polar": "polar",
        "polar k": "polar k",
    }  # fmt: skip
    return Claim(other, [(owner, given)], lambda found: picked(found, names))
