"""Laws that tie the families of hydrostatics to each other and to themselves; bad givens."""

import math

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Slope, Turn
from refsolver.quantities.leaves import ByRun
from refsolver.quantities.views import View
from refsolver.statics.chapters.hydrostatics.arc_gates import Arc
from refsolver.statics.chapters.hydrostatics.buoyancy import SubmergedBodyGivens
from refsolver.statics.chapters.hydrostatics.curved_sided_surfaces import CurvedSides, WidthTerm
from refsolver.statics.chapters.hydrostatics.dams import Dam
from refsolver.statics.chapters.hydrostatics.floating import PlacedWeight, Prism
from refsolver.statics.chapters.hydrostatics.floating_shares import FloatingShareGivens
from refsolver.statics.chapters.hydrostatics.floating_solids import Solid
from refsolver.statics.chapters.hydrostatics.fluid_columns import Balance, FluidColumn
from refsolver.statics.chapters.hydrostatics.fluids import Fluid, WeighedFluid
from refsolver.statics.chapters.hydrostatics.hinged_gates import HingedPanels
from refsolver.statics.chapters.hydrostatics.hydraulic_press import Piston, Press
from refsolver.statics.chapters.hydrostatics.leaning_faces import LeaningFaceGivens
from refsolver.statics.chapters.hydrostatics.lock_gates import LockGatesGivens
from refsolver.statics.chapters.hydrostatics.pressure_along_columns import Step, Steps
from refsolver.statics.chapters.hydrostatics.pressure_on_areas import PressureOnAreaGivens
from refsolver.statics.chapters.hydrostatics.profile_gates import Plate, PlateGate
from refsolver.statics.chapters.hydrostatics.round_surfaces import Ellipse
from refsolver.statics.chapters.hydrostatics.straight_sided_surfaces import Panel, Panels
from refsolver.statics.chapters.hydrostatics.tipping_walls import TippingWallGivens
from refsolver.statics.chapters.hydrostatics.weighings import TwoWeighingsGivens
from refsolver.statics.prover import prove
from refsolver.statics.reference import Proven, Word
from refsolver.statics.registry import family

TINY = fmpq(1, 10**18)
few = settings(max_examples=25, deadline=None)
sizes = st.integers(1, 40).map(lambda n: fmpq(n, 4))
from_zero = st.integers(0, 40).map(lambda n: fmpq(n, 4))
weights = st.integers(50, 150).map(lambda n: fmpq(n, 10))
slopes = st.sampled_from([Turn(fmpq(1, 4)), Turn(fmpq(1, 12)), Turn(fmpq(0)),
                          Slope(fmpq(3), fmpq(4))])  # fmt: skip
WHOLE = ("force", "moment about top", "moment about bottom", "mean pressure")


def found(name, case, *asks):
    views = [ask if isinstance(ask, View) else View(ask) for ask in asks]
    outcomes = prove(family(f"hydrostatics/{name}"), case, views, strict=True).outcomes
    assert all(isinstance(outcomes[v], Proven | Word) for v in views), outcomes
    return [
        outcomes[v].word if isinstance(outcomes[v], Word) else outcomes[v].enclosure.middle
        for v in views
    ]


def close(a, b):
    return all(abs(x - y) <= TINY * (1 + abs(x)) for x, y in zip(a, b, strict=True))


@few
@given(st.lists(st.tuples(from_zero, sizes, sizes), min_size=1, max_size=3), from_zero, slopes,
       weights, from_zero, st.integers(1, 9))  # fmt: skip
def test_surfaces_know_no_datum_and_scale_with_the_fluid(rows, depth, slope, weight, top, factor):
    case = Panels(
        depth=depth, slope=slope, fluids=(Fluid(weight, top=top),),
        panels=tuple(Panel(a, b, h) for a, b, h in rows),
    )  # fmt: skip
    moved = attrs.evolve(case, depth=depth + 7, fluids=(Fluid(weight, top=top + 7),))
    heavier = attrs.evolve(case, fluids=(Fluid(weight * factor, top=top),))
    here = found("straight-sided-surface", case, *WHOLE)
    assert close(here, found("straight-sided-surface", moved, *WHOLE))
    assert close([x * factor for x in here], found("straight-sided-surface", heavier, *WHOLE))


@few
@given(sizes, sizes, sizes, from_zero, slopes, weights, from_zero, st.integers(1, 9))
def test_a_panel_cut_in_two_is_the_same_surface(a, b, height, depth, slope, weight, top, tenths):
    share = fmpq(tenths, 10)
    middle = a + (b - a) * share
    place = {"depth": depth, "slope": slope, "fluids": (Fluid(weight, top=top),)}
    whole = Panels(panels=(Panel(a, b, height),), **place)
    cut = Panels(
        panels=(Panel(a, middle, height * share), Panel(middle, b, height * (1 - share))), **place
    )
    assert close(*(found("straight-sided-surface", case, *WHOLE) for case in (whole, cut)))


@few
@given(sizes, sizes, sizes, from_zero, slopes, weights, from_zero, st.booleans())
def test_a_linear_formula_of_width_is_a_trapezoid(a, b, height, depth, slope, weight, top, upward):
    place = {"depth": depth, "slope": slope, "fluids": (Fluid(weight, top=top),)}
    panels = Panels(panels=(Panel(a, b, height),), **place)
    start, rise = (b, a - b) if upward else (a, b - a)
    formula = CurvedSides(
        height=height, reference=height,
        terms=(WidthTerm(start), WidthTerm(rise, fmpq(1))),
        measured="from the lower edge" if upward else "from the upper edge", **place,
    )  # fmt: skip
    assert close(
        found("straight-sided-surface", panels, *WHOLE),
        found("curved-sided-surface", formula, *WHOLE),
    )


@few
@given(sizes, sizes, from_zero, slopes, weights, from_zero)
def test_two_halves_make_an_ellipse(height, width, depth, slope, weight, top):
    place = {"slope": slope, "fluids": (Fluid(weight, top=top),), "height": height, "width": width}
    asks = ("force", "moment about top")
    whole = found("round-surface", Ellipse(depth=depth, **place), *asks)
    upper = found("round-surface", Ellipse(depth=depth, part="upper half", **place), *asks)
    sine = {Turn(fmpq(1, 4)): fmpq(1), Turn(fmpq(1, 12)): fmpq(1, 2), Turn(fmpq(0)): fmpq(0)}.get(
        slope, fmpq(3, 5)
    )
    below = Ellipse(depth=depth + sine * height / 2, part="lower half", **place)
    lower = found("round-surface", below, *asks)
    moment = upper[1] + lower[1] + lower[0] * height / 2
    assert close(whole, [upper[0] + lower[0], moment])


@few
@given(sizes, sizes, from_zero, weights, sizes)
def test_gas_is_a_higher_level_and_one_fluid_in_two_layers_is_one(a, height, depth, weight, gas):
    panels = (Panel(a, a, height),)
    pressed = Panels(depth=depth, fluids=(Fluid(weight),), panels=panels, pressure=gas)
    raised = attrs.evolve(pressed, depth=depth + gas / weight, pressure=fmpq(0))
    layers = (Fluid(weight, name="upper"), Fluid(weight, top=fmpq(1, 3), name="lower"))
    twice = attrs.evolve(pressed, fluids=layers)
    here = found("straight-sided-surface", pressed, *WHOLE)
    assert close(here, found("straight-sided-surface", raised, *WHOLE))
    assert close(here, found("straight-sided-surface", twice, *WHOLE))


@few
@given(sizes, sizes, weights, st.integers(1, 9))
def test_a_leaning_face_is_a_sloping_plate(depth, back, weight, width):
    face = LeaningFaceGivens(depth, fmpq(width), back, 1, weight)
    plates = PlateGate(
        start=(fmpq(0), fmpq(0)), plates=(Plate((back, depth)),), width=fmpq(width), level=depth,
        hinge=(fmpq(0), fmpq(0)), support_at=(back, depth), support=ByRun((fmpq(-1), fmpq(0))),
        specific_weight=weight,
    )  # fmt: skip
    x, y = (View("force", "component", along=axis) for axis in ("+x", "+y"))
    u, v = (View("fluid force", "component", along=axis) for axis in ("+x", "+y"))
    across, down, moment = found("leaning-face", face, x, y, "moment about foot")
    assert close([across, down, -moment], found("profile-gate", plates, u, v, "fluid moment"))


@few
@given(sizes, sizes, sizes, weights, st.integers(0, 20))
def test_a_closed_line_of_plates_is_buoyed_up(wide, high, apex, weight, deeper):
    """Walked clockwise the fluid lies outside: its force is the weight of what it displaces."""
    corners = [(fmpq(0), fmpq(0)), (apex, high), (wide, fmpq(0)), (fmpq(0), fmpq(0))]
    case = PlateGate(
        start=corners[0], plates=tuple(Plate(corner) for corner in corners[1:]), width=fmpq(2),
        level=high + deeper, hinge=(fmpq(-1), fmpq(0)), support_at=(fmpq(9), fmpq(0)),
        support=ByRun((fmpq(0), fmpq(1))), specific_weight=weight,
    )  # fmt: skip
    x, y = (View("fluid force", "component", along=axis) for axis in ("+x", "+y"))
    across, up, moment = found("profile-gate", case, x, y, "fluid moment")
    lifted = weight * wide * high
    assert close([across, up, moment], [fmpq(0), lifted, lifted * ((wide + apex) / 3 + 1)])


@few
@given(sizes, sizes, from_zero, weights, sizes)
def test_a_hinged_gate_is_a_gate_of_one_plate(width, height, over, weight, heavy):
    hinged = HingedPanels(
        depth=over, hinge=fmpq(0), hold=height, weight=heavy, weight_at=height / 2,
        fluids=(Fluid(weight),), panels=(Panel(width, width, height),),
    )  # fmt: skip
    plates = PlateGate(
        start=(fmpq(0), -over - height), plates=(Plate((fmpq(0), -over), heavy),), width=width,
        level=fmpq(0), hinge=(fmpq(0), -over), support_at=(fmpq(0), -over - height),
        support=ByRun((fmpq(-1), fmpq(0))), specific_weight=weight,
    )  # fmt: skip
    across, along = (View("hinge", "component", along=axis) for axis in ("-x", "+y"))
    asks = ("holding force", "hinge across", "hinge along", "fluid moment")
    others = ("support", across, along, "fluid moment")
    assert close(found("hinged-gate", hinged, *asks), found("profile-gate", plates, *others))


@few
@given(sizes, sizes, st.integers(-80, 60), st.integers(5, 90), weights)
def test_an_arc_presses_alike_from_either_side(radius, width, lower, span, weight):
    upper = min(lower + span, 90)
    case = Arc(radius, width, radius + 1, Turn(fmpq(upper, 360)), Turn(fmpq(lower, 360)),
               specific_weight=weight)  # fmt: skip
    x, y = (View("force", "component", along=axis) for axis in ("+x", "+y"))
    across, lift = found("arc-gate", case, x, y)
    inside = found("arc-gate", attrs.evolve(case, wetted="concave"), x, y)
    assert close(inside, [across, -lift])


@few
@given(weights, sizes, sizes, weights)
def test_submerged_bodies_agree_with_two_weighings(fluid, volume, more, body):
    weight = body * volume
    if body == fluid:
        return
    one = SubmergedBodyGivens(weight=weight, volume=volume, fluid=fluid)
    (apparent,) = found("submerged-body", one, "apparent")
    assert close([apparent], [(body - fluid) * volume])
    two = TwoWeighingsGivens(fmpq(0), weight, fluid, apparent)
    assert close(found("two-weighings", two, "volume", "body"), [volume, body])
    other = fluid + more
    both = TwoWeighingsGivens(fluid, apparent, other, weight - other * volume)
    assert close(found("two-weighings", both, "volume", "weight"), [volume, weight])


shares = st.integers(1, 99).map(lambda n: fmpq(n, 100))


@few
@given(shares, sizes, st.sampled_from(["sphere", "lying cylinder"]))
def test_what_is_under_water_of_a_light_body_is_above_it_of_a_heavy_one(density, width, shape):
    (light,) = found("floating-solid", Solid(shape, density, width), "depth")
    (above,) = found("floating-solid", Solid(shape, 1 - density, width), "above")
    assert close([light], [above])


@few
@given(shares, sizes, sizes)
def test_a_cone_turned_over_exchanges_depth_and_height_above(density, width, height):
    down = Solid("cone point down", density, width, height)
    up = Solid("cone point up", 1 - density, width, height)
    (depth,) = found("floating-solid", down, "depth")
    (above,) = found("floating-solid", up, "above")
    assert close([depth], [above])
    assert abs(depth**3 - density * height**3) <= TINY * height**3


@few
@given(weights, sizes, sizes, sizes, sizes)
def test_a_pull_beyond_the_least_steadies_a_prism(fluid, length, breadth, weight, high):
    case = Prism(fluid, length, breadth, weights=(PlacedWeight(weight, high + 9),))
    pull, state = found("floating-prism", case, "steadying pull", "state")
    if state != "unstable":
        assert pull == 0
        return
    for change, word in ((fmpq(1, 10**9), "stable"), (-fmpq(1, 10**9), "unstable")):
        pulled = attrs.evolve(case, pull=pull * (1 + change))
        assert found("floating-prism", pulled, "state") == [word]


@few
@given(weights, sizes, sizes, sizes, sizes)
def test_a_load_at_its_greatest_height_floats_neutral(fluid, length, breadth, hull, load):
    case = Prism(fluid, length, breadth, weights=(
        PlacedWeight(hull, fmpq(1, 2), "hull"), PlacedWeight(load, None, "load")))  # fmt: skip
    (height,) = found("floating-prism", case, View("greatest heights", key="load"))
    for change, word in ((fmpq(1, 10**9), "unstable"), (-fmpq(1, 10**9), "stable")):
        high = PlacedWeight(load, height + change, "load")
        loaded = attrs.evolve(case, weights=(case.weights[0], high))
        assert found("floating-prism", loaded, "state") == [word]


@few
@given(sizes, sizes, weights, weights)
def test_a_dam_of_the_least_width_is_about_to_tip(height, depth, stone, water):
    if depth > height:
        depth = height
    wall, fluid = WeighedFluid(stone), WeighedFluid(water)
    case = TippingWallGivens(height=height, depth=depth, wall=wall, fluid=fluid)
    (width,) = found("tipping-wall", case, "width")
    for change, stands in ((fmpq(1, 10**9), True), (-fmpq(1, 10**9), False)):
        dam = Dam(height=height, crest=width * (1 + change), length=fmpq(1), dam=wall, fluid=fluid,
                  upstream=depth)  # fmt: skip
        (word,) = found("gravity-dam", dam, "state")
        assert (word != "overturns") is stands
    back = TippingWallGivens(height=height, width=width, wall=wall, fluid=fluid)
    if depth < height:
        assert close(found("tipping-wall", back, "depth"), [depth])


@few
@given(st.lists(st.tuples(weights, sizes), min_size=1, max_size=4), weights, from_zero)
def test_a_column_balances_what_a_walk_through_columns_gives(rows, own, gas):
    steps = Steps(tuple(Step(w, drop=h) for w, h in rows), gas)
    (pressure,) = found("pressure-along-columns", steps, "end")
    columns = tuple(FluidColumn(w, height=h) for w, h in rows)
    balance = Balance(WeighedFluid(own), gas, columns)
    assert close(found("column-height", balance, "height"), [pressure / own])


@few
@given(sizes, sizes, sizes, weights, weights)
def test_a_press_that_is_driven_back_gives_the_force_again(force, first, second, rise, weight):
    there = Press(force, Piston(first), Piston(second), None, -rise, weight)
    (lifted,) = found("press", there, "force")
    back = Press(lifted, Piston(second), Piston(first), None, rise, weight)
    assert close(found("press", back, "force"), [force])


UPRIGHT = {"depth": fmpq(1), "panels": (Panel(fmpq(1), fmpq(1), fmpq(1)),)}
ONE = {"specific_weight": fmpq(10)}


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Fluid(), "by one"),
        (lambda: Fluid(fmpq(1), fmpq(1)), "by one"),
        (lambda: Panels(fluids=(Fluid(density=fmpq(1)),), **UPRIGHT), "without 'gravity'"),
        (lambda: Panels(fluids=(Fluid(fmpq(1)),), gravity=fmpq(1), **UPRIGHT), "leave it out"),
        (lambda: Panels(fluids=(Fluid(fmpq(1), top=fmpq(1)), Fluid(fmpq(1))), **UPRIGHT), "top"),
        (
            lambda: Panels(fluids=(Fluid(fmpq(1)),), slope=Turn(fmpq(1, 3)), **UPRIGHT),
            "0 to 90 degrees",
        ),
        (lambda: Panel(fmpq(0), fmpq(0), fmpq(1)), "a width"),
        (
            lambda: CurvedSides(
                depth=fmpq(0), fluids=(Fluid(fmpq(1)),), height=fmpq(2), reference=fmpq(1),
                terms=(WidthTerm(fmpq(1)), WidthTerm(fmpq(-1), fmpq(1))),
            ),
            "negative",
        ),
        (lambda: WidthTerm(fmpq(1), fmpq(1, 3)), "whole number or a half"),
        (
            lambda: HingedPanels(hinge=fmpq(1), hold=fmpq(1), fluids=(Fluid(fmpq(1)),), **UPRIGHT),
            "holds no moment",
        ),
        (
            lambda: Arc(fmpq(1), fmpq(1), fmpq(1), Turn(fmpq(0)), Turn(fmpq(1, 8)), **ONE),
            "above 'lower'",
        ),
        (
            lambda: Arc(
                fmpq(1), fmpq(1), fmpq(1), Slope(fmpq(2), fmpq(-3)), Turn(fmpq(0)), **ONE
            ),
            "from -90 to 90",
        ),
        (
            lambda: Arc(
                fmpq(1), fmpq(1), fmpq(1), Slope(fmpq(2), fmpq(3)), Slope(fmpq(2), fmpq(3)), **ONE
            ),
            "above 'lower'",
        ),
        (
            lambda: LockGatesGivens(
                fmpq(1), Slope(fmpq(0), fmpq(4)), fmpq(1), fmpq(0), fmpq(1), **ONE
            ),
            "between 0 and 90",
        ),
        (
            lambda: HingedPanels(
                hinge=fmpq(1), hold=fmpq(0), lean=Slope(fmpq(3), fmpq(0)),
                fluids=(Fluid(fmpq(1)),), **UPRIGHT,
            ),
            "between -90 and 90",
        ),
        (
            lambda: LockGatesGivens(
                fmpq(1), Turn(fmpq(1, 4)), fmpq(1), fmpq(0), fmpq(1), **ONE
            ),
            "between 0 and 90",
        ),
        (
            lambda: LockGatesGivens(fmpq(1), Turn(fmpq(1, 9)), fmpq(1), fmpq(1), fmpq(1), **ONE),
            "higher than",
        ),
        (
            lambda: PlateGate(
                start=(fmpq(0), fmpq(0)), plates=(Plate((fmpq(0), fmpq(0))),), width=fmpq(1),
                level=fmpq(1), hinge=(fmpq(0), fmpq(0)), support_at=(fmpq(0), fmpq(1)),
                support=ByRun((fmpq(1), fmpq(0))), **ONE,
            ),
            "coincide",
        ),
        (lambda: SubmergedBodyGivens(weight=fmpq(1), volume=fmpq(1), body=fmpq(1)), "three of"),
        (lambda: SubmergedBodyGivens(weight=fmpq(1)), "three of"),
        (
            lambda: SubmergedBodyGivens(weight=fmpq(1), apparent=fmpq(2), fluid=fmpq(1)),
            "seems lighter",
        ),
        (lambda: FloatingShareGivens(fmpq(1)), "state two"),
        (lambda: FloatingShareGivens(fmpq(1), submerged=fmpq(2)), "not above 1"),
        (lambda: Solid("sphere", fmpq(1, 2), fmpq(1), fmpq(1)), "takes no height"),
        (lambda: Solid("cone point up", fmpq(1, 2), fmpq(1)), "needs its height"),
        (lambda: Prism(fmpq(1), fmpq(1)), "length and the breadth"),
        (lambda: PressureOnAreaGivens(fmpq(1)), "state two"),
        (lambda: PressureOnAreaGivens(fmpq(1), None, fmpq(1), fmpq(1)), "not by both"),
        (lambda: Piston(), "by one"),
        (lambda: Press(fmpq(1), Piston(fmpq(1)), Piston(fmpq(1)), rise=fmpq(1)), "together"),
        (lambda: Balance(WeighedFluid(fmpq(1))), "to be balanced"),
        (
            lambda: TippingWallGivens(
                height=fmpq(1), wall=WeighedFluid(fmpq(1)), fluid=WeighedFluid(fmpq(1))
            ),
            "either the width or the depth",
        ),
        (
            lambda: Dam(height=fmpq(1), crest=fmpq(1), length=fmpq(1), dam=WeighedFluid(fmpq(1)),
                        fluid=WeighedFluid(fmpq(1)), upstream=fmpq(2)),
            "higher than the dam",
        ),
        (
            lambda: Dam(height=fmpq(1), crest=fmpq(0), length=fmpq(1), dam=WeighedFluid(fmpq(1)),
                        fluid=WeighedFluid(fmpq(1)), upstream=fmpq(1)),
            "needs a base",
        ),
    ],
)  # fmt: skip
def test_givens_that_do_not_fit_are_refused(make, says):
    with pytest.raises(ValueError, match=says):
        make()


@pytest.mark.parametrize("front", ["above", "below"])
@pytest.mark.parametrize("lean", [0, 25, -70])
def test_the_drawn_holding_force_balances_the_gate_about_the_drawn_hinge(front, lean):
    gate = HingedPanels(
        depth=fmpq(2), slope=Turn(fmpq(1, 6)), hinge=fmpq(1), hold=fmpq(4), weight=fmpq(7),
        weight_at=fmpq(2), fluids=(Fluid(fmpq(10)),), front=front, lean=Turn(fmpq(lean, 360)),
        panels=(Panel(fmpq(5), fmpq(2), fmpq(3)),),
    )  # fmt: skip
    owner, ar = family("hydrostatics/hinged-gate"), DoubleArithmetic()
    answers = owner.solve(gate, ar, owner.rule_set()).answers
    parts = {part.label: part for part in owner.figure(gate, answers, ar).parts}
    pull, hinge = parts["holding force"], parts["hinge"].at
    assert math.hypot(*pull.vector) == pytest.approx(abs(answers["holding force"]))
    arm = [a - b for a, b in zip(pull.at, hinge, strict=True)]
    assert math.hypot(*arm) == pytest.approx(3)
    down = [x / 3 for x in arm]
    size = answers["holding force"]
    along = sum(u * f for u, f in zip(down, pull.vector, strict=True))
    assert along == pytest.approx(-size * math.sin(math.radians(lean)))
    square = [f - along * u for u, f in zip(down, pull.vector, strict=True)]
    assert math.hypot(*square) == pytest.approx(abs(size) * math.cos(math.radians(lean)))
    assert square[1] * size * (1 if front == "above" else -1) > 0, "toward the front"


def test_a_level_gate_at_the_surface_bears_nothing():
    dry = HingedPanels(
        depth=fmpq(0), slope=Turn(fmpq(0)), hinge=fmpq(0), hold=fmpq(3), fluids=(Fluid(fmpq(10)),),
        panels=(Panel(fmpq(2), fmpq(2), fmpq(3)),),
    )  # fmt: skip
    owner = family("hydrostatics/hinged-gate")
    reference = prove(owner, dry, [View(name) for name in owner.answers], strict=True)
    assert {outcome.how for outcome in reference.outcomes.values()} == {"zero"}
    assert reference.residuals == "close"
