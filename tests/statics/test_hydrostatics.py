"""What holds for every family of hydrostatics; and the laws each of them must keep.

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

FAMILIES = [f for name, f in families().items() if name.startswith("hydrostatics/")]
TABLES = {
    "column-height": {"columns": 5},
    "curved-sided-surface": {"terms": 4, "fluids": 3},
    "floating-prism": {"weights": 5},
    "hinged-gate": {"panels": 3, "fluids": 3},
    "hydrometer": {"marks": 4},
    "pressure-along-columns": {"columns": 5},
    "profile-gate": {"plates": 4},
    "round-surface": {"fluids": 4},
    "straight-sided-surface": {"panels": 4, "fluids": 3},
}
GROWN = {
    "columns": ("height", "drop"), "terms": ("width",), "fluids": ("specific_weight",),
    "weights": ("weight",), "marks": ("relative_density",), "panels": ("height",),
    "plates": ("weight",),
}  # fmt: skip

each_family = pytest.mark.parametrize("family", FAMILIES, ids=lambda f: f.name)


@each_family
def test_answers_are_printed_for_every_family(family):
    assert sum(len(case.published) for case in cases_of(family.name)) >= 5


@each_family
@pytest.mark.parametrize("kappa", [(1.0, 10.0), (1e3, 1e6), (1e8, 1e11)])
def test_generated_cases_are_proven(family, kappa):
    rng = random.Random(f"{family.name} {kappa}")
    for _ in range(4):
        given = family.propose(kappa, rng)
        assert "float" not in {type(x).__name__ for x in atoms(given)}
        reference = prove(family, given, asks_of(family, given), digits=30, strict=True)
        assert not any(isinstance(o, NotProven) for o in reference.outcomes.values()), given
        assert reference.residuals == "close" and reference.second_opinion == "agrees"


@each_family
def test_the_check_notices_any_number_that_is_off(family):
    for seed in range(4):
        given = family.propose((1.0, 5.0), random.Random(f"{family.name} {seed}"))
        with ctx.workprec(150):
            ar = EnclosureArithmetic()
            answers = dict(family.solve(given, ar, family.rule_set()).answers)
            assert all(r.value.contains(0) for r in family.check(given, answers, ar))
            for path, number in numbers_in(answers):
                off = replaced(answers, path, number + (abs(number) + 1) * arb("1e-6"))
                found = family.check(given, off, EnclosureArithmetic())
                assert any(not r.value.contains(0) for r in found), f"not noticed: {path}"


@each_family
def test_three_mistakes_are_known_of_every_family(family):
    assert len(family.mistakes) >= 3


@each_family
def test_tables_can_be_filled_and_every_row_matters(family):
    rng, short = random.Random(3), family.name.partition("/")[2]
    if short not in TABLES:
        assert family.filled({"rows": 8}, rng) is None
        return
    given = family.filled(TABLES[short], rng)
    views = asks_of(family, given)
    whole = prove(family, given, views, digits=20).outcomes
    assert not any(isinstance(o, NotProven) for o in whole.values())
    for table, count in TABLES[short].items():
        items = getattr(given, table)
        assert len(items) == count
        for row, item in enumerate(items):
            name = next(n for n in GROWN[table] if hasattr(item, n))
            grown = attrs.evolve(item, **{name: getattr(item, name) * fmpq(9, 8) + fmpq(1, 100)})
            changed = attrs.evolve(given, **{table: (*items[:row], grown, *items[row + 1 :])})
            other = prove(family, changed, views, digits=20).outcomes
            assert any(apart(whole[v], other[v]) for v in views), f"{table} row {row + 1}"
    assert family.filled({**TABLES[short], "nothing": 1}, rng) is None


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
    assert family.caution or family.name == "hydrostatics/hydrometer"


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


def apart(a, b):
    if not hasattr(a, "enclosure") or not hasattr(b, "enclosure"):
        return a != b
    return a.enclosure.upper < b.enclosure.lower or b.enclosure.upper < a.enclosure.lower


def atoms(item):
    if attrs.has(type(item)):
        for a in attrs.fields(type(item)):
            yield from atoms(getattr(item, a.name))
    elif isinstance(item, tuple):
        for x in item:
            yield from atoms(x)
    else:
        assert item is None or isinstance(item, fmpq | str | int), item
        yield item
