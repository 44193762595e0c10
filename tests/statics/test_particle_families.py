"""What holds for every family of concurrent forces, components, particles, cables, work.

Each published value is compared in the catalogue's own self-check, printed by the works
named in the cases; the rest here is about the families themselves.
"""

import random

import attrs
import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.kinds import Choice, NoAnswer
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import NotProven
from refsolver.statics.registry import families
from tests.shipped_cases import cases_of

CHAPTERS = ("cables", "concurrent-forces", "components", "particle-equilibrium", "virtual-work")
FAMILIES = [f for name, f in families().items() if name.split("/")[0] in CHAPTERS]
TABLES = {
    "cables/catenary": {"stations": 8},
    "cables/parabolic": {"stations": 8},
    "cables/point-loads": {"loads": 8},
    "cables/weights-on-a-string": {"weights": 8},
    "virtual-work/equilibrium-positions": {"points": 3, "forces": 4, "springs": 2, "cords": 1},
    "virtual-work/holding-force": {"points": 4, "forces": 6, "springs": 2, "torsion_springs": 1},
    "virtual-work/stability": {"points": 3, "forces": 4, "couples": 2, "springs": 2, "cords": 2},
    "virtual-work/work-of-forces": {"forces": 4, "couples": 2},
    "concurrent-forces/plane-resultant": {"forces": 8},
    "concurrent-forces/space-resultant": {"forces": 8},
    "particle-equilibrium/one-cord": {"forces": 8},
    "particle-equilibrium/plane-springs": {"springs": 8, "forces": 3},
    "particle-equilibrium/plane-tensions": {"forces": 8, "supports": 2},
    "particle-equilibrium/space-tensions": {"forces": 8, "supports": 3},
}
LEFT_OPEN = {"stability"}
"""Answers that random rows need not have: a mechanism at random is not in equilibrium."""

each_family = pytest.mark.parametrize("family", FAMILIES, ids=lambda f: f.name)


@each_family
def test_answers_are_printed_for_every_family(family):
    assert sum(len(case.published) for case in cases_of(family.name)) > 10


@each_family
@pytest.mark.parametrize("kappa", [(1.0, 10.0), (1e3, 1e6), (1e8, 1e11)])
def test_generated_cases_are_proven(family, kappa):
    rng = random.Random(f"{family.name} {kappa}")
    for _ in range(3):
        given = family.propose(kappa, rng)
        reference = prove(family, given, asks_of(family, given), digits=30, strict=True)
        assert not any(isinstance(o, NotProven) for o in reference.outcomes.values()), given
        assert reference.residuals == "close" and reference.second_opinion == "agrees"


def numbers_in(value, path=()):
    """Where the numbers of an answer are: keys and indices into dicts and tuples."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from numbers_in(inner, (*path, key))
    elif isinstance(value, tuple | list):
        for index, inner in enumerate(value):
            yield from numbers_in(inner, (*path, index))
    elif not isinstance(value, Choice | NoAnswer):
        yield path, value


def replaced(value, path, new):
    if not path:
        return new
    key, *rest = path
    if isinstance(value, dict):
        return {**value, key: replaced(value[key], rest, new)}
    return tuple(replaced(x, rest, new) if i == key else x for i, x in enumerate(value))


@each_family
def test_the_check_notices_any_number_that_is_off(family):
    given = family.propose((1.0, 5.0), random.Random(family.name))
    with ctx.workprec(150):
        ar = EnclosureArithmetic()
        answers = dict(family.solve(given, ar, family.rule_set()).answers)
        assert all(r.value.contains(0) for r in family.check(given, answers, ar))
        for path, number in numbers_in(answers):
            off = replaced(answers, path, number + (abs(number) + 1) * arb("1e-6"))
            found = family.check(given, off, EnclosureArithmetic())
            assert any(not r.value.contains(0) for r in found), f"not noticed: {path}"


@each_family
def test_tables_can_be_filled_and_every_row_matters(family):
    rng = random.Random(3)
    if family.name not in TABLES:
        assert family.filled({"forces": 8}, rng) is None
        return
    rows = TABLES[family.name]
    given = family.filled(rows, rng)
    views = asks_of(family, given)
    whole = prove(family, given, views, digits=20).outcomes
    assert not any(isinstance(o, NotProven) for o in whole.values())
    assert {v.answer for v, o in whole.items() if isinstance(o, NoAnswer)} <= LEFT_OPEN
    for table, count in rows.items():
        items = getattr(given, table)
        assert len(items) == count
        if table == "supports":
            continue
        for row, item in enumerate(items):
            changed = attrs.evolve(
                given, **{table: [*items[:row], _doubled(item), *items[row + 1 :]]}
            )
            other = prove(family, changed, views, digits=20).outcomes
            assert any(_apart(whole[v], other[v]) for v in views), f"{table} row {row + 1}"
    assert family.filled({**rows, "nothing": 1}, rng) is None
    assert family.filled({**rows, next(iter(rows)): 0}, rng) is None


def _doubled(item):
    if hasattr(item, "stiffness"):
        return attrs.evolve(item, stiffness=2 * item.stiffness)
    if hasattr(item, "weight"):
        return attrs.evolve(item, weight=2 * item.weight)
    if isinstance(getattr(item, "at", None), fmpq):
        return attrs.evolve(item, at=item.at / 2)
    for name in ("moment", "tension"):
        if hasattr(item, name):
            return attrs.evolve(item, **{name: 2 * getattr(item, name)})
    if hasattr(item, "cosine"):
        return attrs.evolve(item, cosine=tuple(2 * x for x in item.cosine))
    if hasattr(item.force, "along"):
        doubled = tuple(2 * x for x in item.force.along)
        return attrs.evolve(item, force=attrs.evolve(item.force, along=doubled))
    return attrs.evolve(item, force=attrs.evolve(item.force, magnitude=2 * item.force.magnitude))


def _apart(a, b):
    if not hasattr(a, "enclosure") or not hasattr(b, "enclosure"):
        return a != b
    return a.enclosure.upper < b.enclosure.lower or b.enclosure.upper < a.enclosure.lower


@each_family
def test_figures_show_finite_coordinates_and_say_what_they_show(family):
    for case in cases_of(family.name):
        ar = DoubleArithmetic()
        answers = family.solve(case.given, ar, family.rule_set()).answers
        drawing = family.figure(case.given, answers, ar)
        assert drawing.caption and drawing.parts
        for part in drawing.parts:
            for name in ("at", "vector", "start", "end"):
                for x in getattr(part, name, ()):
                    assert abs(x) < 1e60 and x == x


@each_family
def test_the_words_a_report_needs_are_there(family):
    assert family.method and family.second_method and family.title
    assert all(answer.says for answer in family.answers.values())
    if family.name.startswith("particle-equilibrium"):
        assert "competent person" in family.caution


def test_exact_leaves_are_never_floats():
    rng = random.Random(1)
    for family in FAMILIES:
        given = family.propose((1.0, 10.0), rng)
        assert "float" not in {type(x).__name__ for x in _atoms(given)}


def _atoms(item):
    if attrs.has(type(item)):
        for a in attrs.fields(type(item)):
            yield from _atoms(getattr(item, a.name))
    elif isinstance(item, tuple):
        for x in item:
            yield from _atoms(x)
    else:
        assert item is None or isinstance(item, fmpq | str | int), item
        yield item
