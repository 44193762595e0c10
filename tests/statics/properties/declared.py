"""Which identities each family has besides those told from its givens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from refsolver.statics.contract import Family
from tests.statics.properties import (
    twins_areas,
    twins_fluids,
    twins_forces,
    twins_friction,
    twins_machines,
    twins_solids,
)
from tests.statics.properties.claims import Identity
from tests.statics.properties.loads import Loads, Reversal, parts, reversal, superposition
from tests.statics.properties.mirrors import MIRRORS
from tests.statics.properties.motions import Placed, motion_of
from tests.statics.properties.twinning import TWINS
from tests.statics.properties.units_and_rows import automatic


def _names(*names: str) -> frozenset[str]:
    return frozenset(names)


COUPLES = "couples[*].moment"

PLACED: Mapping[str, Placed] = {
    "components/oblique": Placed(moves=False),
    "components/plane-angle": Placed(moves=False, turning=_names("turn")),
    "components/plane-projection": Placed(moves=False),
    "components/plane-rectangular": Placed(moves=False, turning=_names("across")),
    "components/space-angle": Placed(3, moves=False),
    "components/space-projection": Placed(3, moves=False),
    "components/space-rectangular": Placed(3, moves=False),
    "concurrent-forces/plane-resultant": Placed(moves=False),
    "concurrent-forces/space-resultant": Placed(3, moves=False),
    "force-systems/plane-reduction": Placed(turning=_names(COUPLES, "moment")),
    "force-systems/single-force": Placed(
        turning=_names(COUPLES, "moment"), about_origin={"moment": "resultant"}
    ),
    "force-systems/space-reduction": Placed(3, axial=_names(COUPLES, "moment")),
    "force-systems/wrench": Placed(
        3, turning=_names("moment", "pitch"), axial=_names(COUPLES, "couple")
    ),
    "force-systems/parallel-space": Placed(
        3, axial=_names("moment"), about_origin={"moment": "resultant"}
    ),
    "moments/plane-couples": Placed(turning=_names(COUPLES, "moment", "moments")),
    "moments/plane-point": Placed(turning=_names("moment", "moments")),
    "moments/space-couples": Placed(3, axial=_names(COUPLES, "moment", "moments")),
    "moments/space-point": Placed(3, axial=_names("moment", "moments")),
    "moments/space-axis": Placed(
        3, turning=_names("moment", "moments"), axial=_names("vector")
    ),
    "particle-equilibrium/one-cord": Placed(turns="sideways", moves=False),
    "particle-equilibrium/plane-springs": Placed(),
    "particle-equilibrium/plane-tensions": Placed(moves=False),
    "particle-equilibrium/space-tensions": Placed(3, moves=False),
    "rigid-bodies/plane-reactions": Placed(turning=_names(COUPLES, "couples")),
    "rigid-bodies/space-reactions": Placed(3, axial=_names(COUPLES, "couples")),
    "frames/plane-frame": Placed(
        turning=_names(COUPLES, "couples", "connection_couples")
    ),
    "trusses/plane-truss": Placed(),
    "trusses/space-truss": Placed(3),
    "centroids/point-masses-plane": Placed(weighed={"first moment": "mass"}),
    "centroids/point-masses-space": Placed(3, weighed={"first moment": "mass"}),
    "centroids/line-in-space": Placed(3, weighed={"first moment": "length"}),
    "rigging/bridle-in-space": Placed(3, turns="level"),
    "virtual-work/equilibrium-positions": Placed(
        arrows=_names("points[*].cosine", "points[*].sine")
    ),
    "virtual-work/holding-force": Placed(arrows=_names("points[*].cosine", "points[*].sine")),
    "virtual-work/stability": Placed(arrows=_names("points[*].cosine", "points[*].sine")),
    "virtual-work/work-of-forces": Placed(3, moves=False),
}  # fmt: skip


FLUIDS = _names(
    "specific_weight", "density", "fluids[*].specific_weight", "fluids[*].density", "pressure"
)
PLATE = _names(
    "force",
    "horizontal",
    "vertical",
    "moment about top",
    "moment about bottom",
    "mean pressure",
    "pressure at top",
    "pressure at bottom",
)
BEAM = _names("forces[*].force", COUPLES, "line_loads[*].intensities[*]")
BODY = _names(
    "forces[*].force",
    COUPLES,
    "line_loads[*].at_start",
    "line_loads[*].at_end",
    "tensions[*].tension",
)
MECHANISM = _names(
    "forces[*].force",
    COUPLES,
    "springs[*].stiffness",
    "cords[*].tension",
    "torsion_springs[*].stiffness",
)
DENSITIES = frozenset(
    f"{table}[*].{what}"
    for table in (
        "boxes",
        "cylinders",
        "cones",
        "spheres",
        "half_spheres",
        "paraboloids",
        "wedges",
        "tetrahedra",
        "lumps",
    )
    for what in ("density", "amount")
)
LAMINA = _names("mass", "M_x", "M_y", "I_x", "I_y", "polar")
WEDGE = frozenset(
    f"{place} {what}, {way}"
    for place in ("floor", "face", "wall")
    for what in ("normal", "friction")
    for way in ("driving in", "drawing out")
)
LINEAR: Mapping[str, Loads] = {
    "components/oblique": Loads(_names("force"), _names("first", "second")),
    "components/plane-projection": Loads(
        _names("force"), _names("projection", "parallel", "perpendicular")
    ),
    "components/space-projection": Loads(
        _names("force"), _names("projection", "parallel", "perpendicular")
    ),
    "components/plane-rectangular": Loads(_names("force"), _names("force", "along", "across")),
    "components/space-rectangular": Loads(_names("force"), _names("force")),
    "concurrent-forces/plane-resultant": Loads(
        _names("forces[*].force"), _names("resultant", "equilibrant", "components")
    ),
    "concurrent-forces/space-resultant": Loads(
        _names("forces[*].force"), _names("resultant", "equilibrant", "components")
    ),
    "force-systems/plane-reduction": Loads(
        _names("forces[*].force", COUPLES), _names("resultant", "moment")
    ),
    "force-systems/single-force": Loads(
        _names("forces[*].force", COUPLES), _names("resultant", "moment")
    ),
    "force-systems/space-reduction": Loads(
        _names("forces[*].force", COUPLES), _names("resultant", "moment")
    ),
    "force-systems/wrench": Loads(_names("forces[*].force", COUPLES), _names("force")),
    "force-systems/parallel-line": Loads(
        _names("forces[*].force"), _names("resultant", "moment", "moments")
    ),
    "force-systems/parallel-space": Loads(
        _names("forces[*].force"), _names("resultant", "moment")
    ),
    "force-systems/two-parallel-components": Loads(
        _names("forces[*].force"), _names("first", "second")
    ),
    "moments/plane-couples": Loads(
        _names("pairs[*].force", COUPLES), _names("moment", "moments")
    ),
    "moments/space-couples": Loads(
        _names("pairs[*].force", COUPLES), _names("moment", "moments")
    ),
    "moments/plane-point": Loads(_names("forces[*].force"), _names("moment", "moments")),
    "moments/space-point": Loads(_names("forces[*].force"), _names("moment", "moments")),
    "moments/space-axis": Loads(
        _names("forces[*].force"), _names("moment", "moments", "vector")
    ),
    "distributed-loads/line-load": Loads(
        _names("stretches[*].first", "stretches[*].last"),
        _names("resultant", "moment", "forces"),
    ),
    "distributed-loads/polynomial": Loads(
        _names("stretches[*].terms[*].load"), _names("resultant", "moment", "forces")
    ),
    "distributed-loads/area-load": Loads(
        _names("patches[*].loads[*]"), _names("total", "forces", "intensities")
    ),
    "beams/line-resultant": Loads(BEAM, _names("resultant", "moment", "totals")),
    "beams/reactions": Loads(BEAM, _names("reactions", "couples", "hinges")),
    "beams/internal-forces": Loads(BEAM, _names("axial", "shear", "moment")),
    "beams/section-forces": Loads(BEAM, _names("axial", "shear", "moment")),
    "rigid-bodies/plane-reactions": Loads(BODY, _names("reactions", "couples", "forces")),
    "rigid-bodies/space-reactions": Loads(BODY, _names("reactions", "couples", "forces")),
    "frames/plane-frame": Loads(
        BODY,
        _names(
            "connections", "connection_forces", "connection_couples", "reactions", "couples",
            "support_forces", "tensions",
        ),
    ),
    "trusses/plane-truss": Loads(
        _names("loads[*].force"), _names("forces", "reactions", "support_forces")
    ),
    "trusses/space-truss": Loads(
        _names("loads[*].force"), _names("forces", "reactions", "support_forces")
    ),
    "particle-equilibrium/one-cord": Loads(_names("forces[*].force"), _names("cord")),
    "particle-equilibrium/plane-tensions": Loads(
        _names("forces[*].force"), _names("forces", "vectors", "stretches")
    ),
    "particle-equilibrium/space-tensions": Loads(
        _names("forces[*].force"), _names("forces", "vectors", "stretches")
    ),
    "particle-equilibrium/plane-springs": Loads(
        _names("forces[*].force", "springs[*].stiffness"), _names("forces", "holding")
    ),
    "virtual-work/holding-force": Loads(MECHANISM, _names("couple", "force", "springs")),
    "virtual-work/stability": Loads(MECHANISM, _names("first", "second")),
    "virtual-work/work-of-forces": Loads(MECHANISM, _names("works", "total")),
    "virtual-work/slider-crank": Loads(
        _names("pin_force", "couple"), _names("force", "rod_force")
    ),
    "hydrostatics/straight-sided-surface": Loads(FLUIDS, PLATE),
    "hydrostatics/curved-sided-surface": Loads(FLUIDS, PLATE),
    "hydrostatics/round-surface": Loads(FLUIDS, PLATE),
    "hydrostatics/hinged-gate": Loads(
        FLUIDS | {"weight"},
        _names("fluid force", "fluid moment", "holding force", "hinge across", "hinge along"),
    ),
    "hydrostatics/profile-gate": Loads(
        _names("specific_weight", "density", "plates[*].weight"),
        _names("forces", "fluid force", "fluid moment", "support", "hinge"),
    ),
    "hydrostatics/arc-gate": Loads(FLUIDS, _names("force")),
    "hydrostatics/leaning-face": Loads(FLUIDS, _names("force", "moment about foot")),
    "hydrostatics/lock-gates": Loads(
        FLUIDS, _names("fluid force", "mitre force", "hinge force", "upper hinge", "lower hinge")
    ),
    "hydrostatics/pressure-along-columns": Loads(
        _names("columns[*].specific_weight", "columns[*].density", "start"),
        _names("end", "rise", "pressures"),
    ),
    "hydrostatics/press": Loads(
        _names("force", "specific_weight"), _names("force", "pressure", "driven pressure")
    ),
    "hydrostatics/column-height": Loads(
        _names("pressure", "columns[*].height"), _names("height", "pressure", "difference")
    ),
    "hydrostatics/gravity-dam": Loads(
        _names("dam.specific_weight", "dam.density", "fluid.specific_weight", "fluid.density"),
        _names("weight", "thrust", "vertical", "overturning moment", "righting moment"),
    ),
    "hydrostatics/two-weighings": Loads(
        _names("in_first", "in_second"), _names("volume", "weight", "displaced")
    ),
    "centroids/centre-of-gravity": Loads(DENSITIES, _names("weight", "first moment", "weights")),
    "centroids/mass-centre": Loads(DENSITIES, _names("mass", "first moment", "masses")),
    "centroids/point-masses-plane": Loads(
        _names("masses[*].mass"), _names("mass", "first moment")
    ),
    "centroids/point-masses-space": Loads(
        _names("masses[*].mass"), _names("mass", "first moment")
    ),
    "centroids/lamina": Loads(_names("density[*].coefficient"), LAMINA),
    "centroids/ring-lamina": Loads(_names("density[*].coefficient"), LAMINA),
    "centroids/rod": Loads(
        _names("density[*].coefficient"), _names("mass", "first moment", "moment of inertia")
    ),
    "mass-moments/composite": Loads(
        _names("bodies[*].mass"), _names("moment of inertia", "mass")
    ),
    "second-moments/parallel-axis": Loads(
        _names("area", "moment"), _names("moment", "centroidal")
    ),
    "second-moments/principal-axes": Loads(
        _names("i_x", "i_y", "i_xy"), _names("I_u", "I_v", "I_uv", "polar")
    ),
    "second-moments/symmetric-section": Loads(
        _names("i_x", "i_y"), _names("S_x", "S_y", "polar")
    ),
    "friction/wedge": Loads(
        _names("load", "wedge_weight"), WEDGE | {"force to drive in", "force to draw out"}
    ),
    "friction/ladder": Loads(
        _names("weight", "load"), _names("wall normal", "floor normal", "floor friction")
    ),
    "friction/stacked-blocks": Loads(
        _names("upper", "lower"), _names("force to slide the upper", "force to move both")
    ),
    "friction/block-under-tied": Loads(
        _names("upper", "lower"),
        _names("force to draw out", "rope", "normal between", "normal below"),
    ),
    "cables/point-loads": Loads(
        _names("loads[*].weight"),
        _names("horizontal", "reactions"),
        when=lambda given: given.depth is not None,
    ),
    "cables/weights-on-a-string": Loads(
        _names("weights[*].weight"), _names("horizontal", "reactions")
    ),
}  # fmt: skip

HOLDS = {"holds": "cannot hold", "cannot hold": "holds"}
BALANCE = {
    "driven to larger angles": "driven to smaller angles",
    "driven to smaller angles": "driven to larger angles",
    "stable": "unstable",
    "unstable": "stable",
}
SENSES = {"tension": "compression", "compression": "tension"}
SYSTEM = _names("forces[*].force", COUPLES)
REVERSED: Mapping[str, Reversal] = {
    "components/plane-angle": Reversal(
        _names("first"), negated=_names("product"), same=_names("acute")
    ),
    "components/space-angle": Reversal(
        _names("first"), negated=_names("product"), same=_names("acute")
    ),
    "concurrent-forces/plane-resultant": Reversal(
        SYSTEM, negated=_names("components"), exchanged={"resultant": "resultant"},
        swapped={"equilibrant": "resultant"},
    ),
    "concurrent-forces/space-resultant": Reversal(
        SYSTEM, negated=_names("components"), swapped={"equilibrant": "resultant"}
    ),
    "force-systems/single-force": Reversal(
        SYSTEM, negated=_names("resultant", "moment"), same=_names("line", "reduces to")
    ),
    "force-systems/wrench": Reversal(
        SYSTEM,
        negated=_names("force", "couple"),
        same=_names("moment", "pitch", "axis", "reduces to"),
    ),
    "force-systems/parallel-line": Reversal(
        SYSTEM, negated=_names("resultant", "moment", "moments"), same=_names("position")
    ),
    "force-systems/parallel-space": Reversal(
        SYSTEM, negated=_names("resultant", "moment"), same=_names("centre")
    ),
    "distributed-loads/line-load": Reversal(
        _names("stretches[*].first", "stretches[*].last"),
        negated=_names("resultant", "moment", "forces"),
        same=_names("position", "positions"),
    ),
    "distributed-loads/polynomial": Reversal(
        _names("stretches[*].terms[*].load"),
        negated=_names("resultant", "moment", "forces"),
        same=_names("position", "positions"),
    ),
    "beams/extremes": Reversal(
        BEAM,
        exchanged={
            "largest moment": "smallest moment",
            "smallest moment": "largest moment",
            "largest shear": "smallest shear",
            "smallest shear": "largest shear",
        },
        swapped={
            "largest moment at": "smallest moment at",
            "smallest moment at": "largest moment at",
            "largest shear at": "smallest shear at",
            "smallest shear at": "largest shear at",
        },
        same=_names("greatest moment", "greatest shear", "zero shear", "contraflexure"),
        negated=_names("moment at zero shear"),
    ),
    "beams/line-resultant": Reversal(
        BEAM,
        negated=_names("resultant", "moment", "totals"),
        same=_names("position", "places"),
    ),
    "beams/reactions": Reversal(
        BEAM,
        negated=_names("reactions", "couples", "hinges"),
        same=_names("constraint", "degree"),
    ),
    "rigid-bodies/plane-reactions": Reversal(
        BODY,
        negated=_names("reactions", "couples", "forces"),
        same=_names("constraint", "degree"),
    ),
    "rigid-bodies/space-reactions": Reversal(
        BODY,
        negated=_names("reactions", "couples", "forces"),
        same=_names("constraint", "degree"),
    ),
    "frames/plane-frame": Reversal(
        BODY,
        negated=_names(
            "connections", "connection_forces", "connection_couples", "reactions", "couples",
            "support_forces",
        ),
        same=_names("constraint", "degree"),
    ),
    "trusses/plane-truss": Reversal(
        _names("loads[*].force"),
        negated=_names("forces", "reactions", "support_forces"),
        same=_names("senses", "zero_members", "constraint", "degree", "free_motions"),
        words=SENSES,
    ),
    "trusses/space-truss": Reversal(
        _names("loads[*].force"),
        negated=_names("forces", "reactions", "support_forces"),
        same=_names("senses", "zero_members", "constraint", "degree", "free_motions"),
        words=SENSES,
    ),
    "particle-equilibrium/plane-tensions": Reversal(
        SYSTEM, negated=_names("forces", "vectors", "stretches")
    ),
    "particle-equilibrium/space-tensions": Reversal(
        SYSTEM, negated=_names("forces", "vectors", "stretches")
    ),
    "virtual-work/slider-crank": Reversal(
        _names("pin_force", "couple"), negated=_names("force", "rod_force"), same=_names("slider")
    ),
    "virtual-work/work-of-forces": Reversal(SYSTEM, negated=_names("works", "total")),
    "virtual-work/stability": Reversal(
        MECHANISM,
        negated=_names("first", "second"),
        same=_names("balance", "stability"),
        words=BALANCE,
    ),
    **{
        f"unit-conversion/{what}": Reversal(_names("quantity"), negated=_names("quantity"))
        for what in (
            "acceleration", "area", "force", "length", "mass", "moment", "power", "pressure",
            "second-moment", "speed", "volume",
        )
    },
}  # fmt: skip

SHAPES = (
    "rectangles", "triangles", "discs", "half_discs", "quarter_discs", "sectors", "ellipses",
    "half_ellipses", "quarter_ellipses", "spandrels", "polygons",
)  # fmt: skip
SOLIDS = (
    "boxes", "cylinders", "cones", "spheres", "half_spheres", "paraboloids", "wedges",
    "tetrahedra",
)  # fmt: skip
PIECES = ("segments", "arcs", "parabolas")
ADDED_UP: Mapping[str, Identity] = {
    "centroids/composite-area": parts(_names("area", "Q_x", "Q_y", "areas", "centroids"), *SHAPES),
    "centroids/composite-line": parts(
        _names("length", "Q_x", "Q_y", "lengths", "centroids"), *PIECES
    ),
    "centroids/line-in-space": parts(
        _names("length", "first moment", "lengths", "centroids"), "segments"
    ),
    "centroids/composite-volume": parts(
        _names("volume", "first moment", "volumes", "centroids"), *SOLIDS
    ),
    "centroids/centre-of-gravity": parts(
        _names("weight", "first moment", "weights", "centroids"), *SOLIDS, "lumps"
    ),
    "centroids/mass-centre": parts(
        _names("mass", "first moment", "masses", "centroids"), *SOLIDS, "lumps"
    ),
    "centroids/between-curves": parts(_names("area", "Q_x", "Q_y"), "regions"),
    "centroids/lamina": parts(LAMINA, "regions"),
    "centroids/solid-of-revolution": parts(_names("volume", "first moment"), "regions"),
    "centroids/pappus-surface": parts(_names("surface", "length"), *PIECES),
    "centroids/pappus-volume": parts(_names("volume", "area"), *SHAPES),
    "centroids/point-masses-plane": parts(_names("mass", "first moment"), "masses"),
    "centroids/point-masses-space": parts(_names("mass", "first moment"), "masses"),
    "second-moments/composite": parts(
        _names("area", "I_x", "I_y", "I_xy", "polar", "parts I_x", "parts I_y"), *SHAPES
    ),
    "second-moments/between-curves": parts(
        _names("area", "I_x", "I_y", "I_xy", "polar"), "regions"
    ),
    "mass-moments/composite": parts(_names("moment of inertia", "mass"), "bodies"),
    "distributed-loads/area-load": parts(_names("total", "forces", "intensities"), "patches"),
    "concurrent-forces/plane-resultant": parts(
        _names("resultant", "equilibrant", "components"), "forces"
    ),
    "concurrent-forces/space-resultant": parts(
        _names("resultant", "equilibrant", "components"), "forces"
    ),
    "virtual-work/work-of-forces": parts(_names("works", "total"), "forces", "couples"),
}


ENTERED = (twins_areas, twins_fluids, twins_forces, twins_friction, twins_machines, twins_solids)
"""The modules whose functions are entered in TWINS."""


def _every(owner: Family) -> Iterator[Identity]:
    yield from automatic(owner)
    if owner.name in PLACED:
        yield motion_of(PLACED[owner.name])
    if owner.name in LINEAR:
        yield superposition(LINEAR[owner.name])
    if owner.name in REVERSED:
        yield reversal(REVERSED[owner.name])
    for table in (ADDED_UP, MIRRORS):
        if owner.name in table:
            yield table[owner.name]
    yield from TWINS.get(owner.name, ())


def identities(owner: Family) -> tuple[Identity, ...]:
    """Every identity of a family."""
    return tuple(_every(owner))
