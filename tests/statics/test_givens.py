"""Leaves by their names: found, replaced all at once, restated in other units."""

from __future__ import annotations

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.exact import Constant, Turn
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.statics.areas.shapes import AreaGivens, Rectangle
from refsolver.statics.chapters.centroids.lines import LineGivens, Segment
from refsolver.statics.chapters.centroids.solid_givens import MassGivens, MassLump, SolidGivens
from refsolver.statics.chapters.centroids.solids import Box
from refsolver.statics.chapters.distributed_loads.area_loads import Patch, Patches
from refsolver.statics.chapters.distributed_loads.linear_loads import LinearLoads, LinearStretch
from refsolver.statics.chapters.distributed_loads.polynomial_loads import (
    PolynomialLoads,
    PolynomialStretch,
    Term,
)
from refsolver.statics.chapters.force_systems.forces_on_a_line import OnLine
from refsolver.statics.chapters.force_systems.parallel_components import TwoPlacesGivens
from refsolver.statics.chapters.force_systems.parallel_forces import (
    InSpace,
    InSpaceGivens,
    OnLineGivens,
)
from refsolver.statics.chapters.moments.about_axes import AxisGivens
from refsolver.statics.chapters.moments.about_points import PlaneMomentGivens, SpaceMomentGivens
from refsolver.statics.chapters.moments.couples import PlaneCouples, PlanePair, SpaceCouples
from refsolver.statics.contract import (
    Given,
    angle,
    choice,
    many,
    one,
    point,
    quantities,
    quantity,
    text,
    vector,
)
from refsolver.statics.forces.systems import (
    PlaneCouple,
    PlaneForceAt,
    PlaneSystem,
    SpaceCouple,
    SpaceForceAt,
    SpaceSystem,
)
from refsolver.statics.givens import (
    checks_numbers,
    fields,
    leaf,
    pattern_of,
    patterns,
    replaced,
    restated,
    walk,
)
from refsolver.statics.naming import distinct_names, keys_of, of_names_alone


@attrs.frozen
class Span:
    start: fmpq = quantity(LENGTH, "where it starts")
    end: fmpq = quantity(LENGTH, "where it ends")
    name: str = text("its name")

    def __attrs_post_init__(self):
        if self.end <= self.start:
            raise ValueError("a span ends after its start")


@attrs.frozen
class Pull:
    force: object = vector(FORCE, "the pull")
    at: tuple = point("where")


@attrs.frozen
class Stage:
    spans: tuple = many(Span, "the spans")
    pull: Pull = one(Pull, "one pull")
    loads: tuple = quantities(FORCE, "loads")
    twist: fmpq | None = quantity(MOMENT, "a couple", default=None)
    lean: Turn | None = angle("a lean", default=None)
    kind: str = choice(("light", "heavy"), "which", default="light")
    scratch: int = attrs.field(default=0)


def stage(**changes):
    own = {
        "spans": (Span(fmpq(0), fmpq(2)), Span(fmpq(2), fmpq(5), "far")),
        "pull": Pull(Polar(fmpq(6), ByAngle(Turn(fmpq(1, 8)))), (fmpq(1), fmpq(-2))),
        "loads": (fmpq(3), fmpq(4)),
    }
    return Stage(**own | changes)


def test_every_leaf_that_is_there_has_a_path():
    found = {path: value for path, value, _ in walk(stage())}
    assert found == {
        "spans[1].start": 0, "spans[1].end": 2, "spans[1].name": "",
        "spans[2].start": 2, "spans[2].end": 5, "spans[2].name": "far",
        "pull.force": stage().pull.force, "pull.at": (1, -2),
        "loads[1]": 3, "loads[2]": 4, "kind": "light",
    }  # fmt: skip
    assert all(leaf(stage(), path) == value for path, value in found.items() if path[:5] != "loads")
    fuller = stage(twist=fmpq(9), lean=Turn(fmpq(1)))
    assert [path for path, _, _ in walk(fuller, "own.")][-3:] == [
        "own.twist",
        "own.lean",
        "own.kind",
    ]
    assert all(isinstance(field, Given) for _, _, field in walk(fuller))
    assert list(fields(Span)) == ["start", "end", "name"] and "scratch" not in fields(Stage)


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("spans[3].start", "there are 2 spans"),
        ("spans[0].start", "there are 2 spans"),
        ("spans[1].middle", "there is no given 'middle'"),
        ("scratch", "there is no given 'scratch'"),
        ("spans[1]start", "not the name of a given"),
        (".spans", "not the name of a given"),
    ],
)
def test_what_is_not_there_is_told(path, said):
    for reach in (leaf, lambda given, path: replaced(given, {path: None})):
        with pytest.raises(KeyError, match=said.replace("[", r"\[")):
            reach(stage(), path)


def test_leaves_move_together_and_no_state_in_between_is_made():
    moved = replaced(
        stage(), {"spans[1].start": fmpq(7), "spans[1].end": fmpq(9), "spans[2].name": "x"}
    )
    assert moved.spans == (Span(fmpq(7), fmpq(9)), Span(fmpq(2), fmpq(5), "x"))
    assert moved.pull == stage().pull and stage().spans[0].start == 0
    with pytest.raises(ValueError, match="ends after its start"):
        replaced(stage(), {"spans[1].start": fmpq(7)})
    assert replaced(stage(), {}) == stage()
    whole = replaced(stage(), {"spans[2]": Span(fmpq(5), fmpq(6)), "pull.at": (fmpq(0), fmpq(0))})
    assert whole.spans[1].end == 6 and whole.pull.at == (0, 0)
    assert whole.spans[0] == stage().spans[0]


def test_other_units_scale_each_leaf_by_its_dimension():
    """Metres to millimetres and newtons to kilonewtons; angles, names and words stay."""
    sizes = {LENGTH: fmpq(1000), FORCE: fmpq(1, 1000), MOMENT: fmpq(1)}
    root = Constant("sqrt", (fmpq(2),))
    own = stage(twist=fmpq(9), lean=Turn(fmpq(1)), loads=(fmpq(3), root))
    seen = restated(own, sizes.__getitem__)
    assert seen.spans[1] == Span(fmpq(2000), fmpq(5000), "far")
    assert seen.pull == Pull(Polar(fmpq(6, 1000), ByAngle(Turn(fmpq(1, 8)))), (1000, -2000))
    assert seen.loads[0] == fmpq(3, 1000) and seen.loads[1] != root
    assert (seen.twist, seen.lean, seen.kind) == (9, Turn(fmpq(1)), "light")
    parts = restated(stage(pull=Pull(Components((fmpq(5), root)), (fmpq(0),) * 2)), sizes.get)
    assert parts.pull.force.along[0] == fmpq(1, 200) and parts.pull.force.along[1] != root


def test_patterns_have_a_star_for_every_number():
    assert list(patterns(Stage)) == [
        "spans[*].start", "spans[*].end", "spans[*].name", "pull.force", "pull.at", "loads[*]",
        "twist", "lean", "kind",
    ]  # fmt: skip
    assert patterns(Stage)["pull.at"] is fields(Pull)["at"]
    assert pattern_of("stages[12].spans[3].start") == "stages[*].spans[*].start"
    assert pattern_of("pull.at") == "pull.at"


def test_who_looks_at_numbers_when_it_is_made():
    @attrs.frozen
    class Rope:
        force: object = vector(FORCE, "the pull")
        name: str = text("its name")

    @attrs.frozen
    class Named:
        ropes: tuple = many(Rope, "ropes")

        @of_names_alone
        def __attrs_post_init__(self):
            distinct_names(self.ropes, "rope")

    assert checks_numbers(Span) and checks_numbers(Stage)
    assert not checks_numbers(Pull) and not checks_numbers(Named)
    with pytest.raises(ValueError, match="two go by the name 'r'"):
        Named((Rope(Components((fmpq(1), fmpq(0))), "r"),) * 2)


def test_rows_go_by_their_names_or_by_their_number():
    far, none = Span(fmpq(2), fmpq(5), "far"), Span(fmpq(0), fmpq(1))
    assert keys_of((far, none, none), "span") == ["far", "span 2", "span 3"]
    distinct_names((far, none, none), "span")
    with pytest.raises(ValueError, match="two go by the name 'far': rename one"):
        distinct_names((far, none, far), "span")
    with pytest.raises(ValueError, match="'far' and by 'span 2'"):
        distinct_names((far, none, far, attrs.evolve(none, name="span 2")), "span")


ONE, TWO, ORIGIN = fmpq(1), fmpq(2), (fmpq(0),) * 3
PULL, PULL_IN_SPACE = Components((ONE, ONE)), Components((ONE,) * 3)
UP = ByRun((fmpq(0), fmpq(0), ONE))


def twice(cls, *givens):
    """Two equal rows by one name."""
    return (cls(*givens, name="A"),) * 2


@pytest.mark.parametrize(
    "made",
    [
        lambda: PlaneSystem(twice(PlaneForceAt, PULL, ORIGIN[:2])),
        lambda: PlaneSystem(twice(PlaneForceAt, PULL, ORIGIN[:2])[:1], twice(PlaneCouple, ONE)[:1]),
        lambda: SpaceSystem(couples=twice(SpaceCouple, PULL_IN_SPACE)),
        lambda: OnLineGivens(twice(OnLine, ONE, TWO)),
        lambda: TwoPlacesGivens(twice(OnLine, ONE, TWO), ONE, TWO),
        lambda: InSpaceGivens(twice(InSpace, ONE, ORIGIN), UP),
        lambda: AxisGivens(twice(SpaceForceAt, PULL_IN_SPACE, ORIGIN), ORIGIN, UP),
        lambda: PlaneMomentGivens(twice(PlaneForceAt, PULL, ORIGIN[:2]), ORIGIN[:2]),
        lambda: SpaceMomentGivens(twice(SpaceForceAt, PULL_IN_SPACE, ORIGIN), ORIGIN),
        lambda: PlaneCouples(twice(PlanePair, PULL, ORIGIN[:2], (ONE, TWO))),
        lambda: SpaceCouples(couples=twice(SpaceCouple, PULL_IN_SPACE)),
        lambda: AreaGivens(rectangles=twice(Rectangle, ORIGIN[:2], ONE, ONE)),
        lambda: LineGivens(twice(Segment, ORIGIN[:2], (ONE, TWO))),
        lambda: SolidGivens(boxes=twice(Box, ORIGIN, ONE, ONE, ONE)),
        lambda: MassGivens(lumps=twice(MassLump, ONE, ORIGIN)),
        lambda: Patches(twice(Patch, (ONE,), ONE)),
        lambda: LinearLoads(twice(LinearStretch, ONE, TWO, ONE, ONE)),
        lambda: PolynomialLoads(twice(PolynomialStretch, ONE, TWO, (Term(0, ONE),), ONE)),
    ],
)
def test_no_two_rows_go_by_one_name(made):
    with pytest.raises(ValueError, match="two go by the name 'A': rename one"):
        made()
