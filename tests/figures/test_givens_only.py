"""Figures for an answer sheet: what is given, and nothing that tells an answer."""

from __future__ import annotations

import math

import pytest
from flint import fmpq

from refsolver.catalogue.catalogue import Catalogue
from refsolver.figures.givens_only import givens_drawing
from refsolver.mistakes.replay import answers_of
from refsolver.statics.drawing import Arrow, Mark
from refsolver.statics.registry import families, family


@pytest.fixture(scope="module")
def catalogue():
    return Catalogue()


def drawn(case):
    owner = family(case.family)
    answers, ar = answers_of(owner, case.given)
    return givens_drawing(owner, case.given, answers, ar), owner.figure(case.given, answers, ar)


def test_the_resultant_is_left_out_and_the_forces_stay(catalogue):
    case = catalogue.read("concurrent-forces/plane-resultant/anchor-three-four-five")
    drawing, full = drawn(case)
    assert len(full.parts) == 3 and len(drawing.parts) == 2
    assert {part.label for part in drawing.parts}.isdisjoint({"R"})
    assert "resultant" in full.caption and "resultant" not in drawing.caption


def test_what_is_placed_by_an_answer_is_left_out(catalogue):
    """Weights on cords over pulleys: the knot's place is the answer; the pulleys are given."""
    id = next(
        i for i in catalogue.paths if i.startswith("particle-equilibrium/two-counterweights/")
    )
    case = catalogue.read(id)
    drawing, full = drawn(case)
    answers, _ = answers_of(family(case.family), case.given)
    knot = answers["knot"]

    def touches(part):
        spots = [value for value in vars_of(part) if isinstance(value, tuple)]
        return any(all(map(math.isclose, spot, knot)) for spot in spots if len(spot) == 2)

    assert any(map(touches, full.parts)) and not any(map(touches, drawing.parts))
    assert [p.label for p in drawing.parts if isinstance(p, Mark)] == [
        "left pulley",
        "right pulley",
    ]


def vars_of(part):
    return [getattr(part, name) for name in part.__slots__ if name != "__weakref__"]


def test_no_family_draws_a_part_named_an_answer(catalogue):
    """One case of each family; what can be drawn without its answers is most of them."""
    first = {}
    for id in catalogue.paths:
        first.setdefault(id.rpartition("/")[0], id)
    made = 0
    for name, id in first.items():
        if name not in families():
            continue
        case = catalogue.read(id)
        if answers_of(family(name), case.given) is None:
            continue
        drawing, _ = drawn(case)
        made += drawing is not None
        assert drawing is None or all(getattr(p, "role", "") != "answer" for p in drawing.parts)
    assert made > 0.8 * len(first)


def test_a_family_whose_figure_is_all_answers_has_none(catalogue):
    id = next(i for i in catalogue.paths if i.startswith("components/plane-rectangular/"))
    drawing, full = drawn(catalogue.read(id))
    assert drawing is None and isinstance(full.parts[0], Arrow)


def test_givens_alone_decide_what_is_drawn(catalogue):
    """Twice the forces: the drawing without answers has twice the arrows, to the last digit."""
    owner = family("concurrent-forces/plane-resultant")
    case = catalogue.read("concurrent-forces/plane-resultant/anchor-three-four-five")
    import attrs

    twice = attrs.evolve(
        case.given,
        forces=tuple(
            attrs.evolve(f, force=attrs.evolve(f.force, magnitude=f.force.magnitude * fmpq(2)))
            for f in case.given.forces
        ),
    )
    one, _ = drawn(case)
    answers, ar = answers_of(owner, twice)
    other = givens_drawing(owner, twice, answers, ar)
    for a, b in zip(one.parts, other.parts, strict=True):
        assert b.vector == pytest.approx([2 * x for x in a.vector])
