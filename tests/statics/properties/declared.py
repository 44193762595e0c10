"""Which identities each family has besides those told from its givens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from refsolver.statics.contract import Family
from tests.statics.properties import (
    twins_areas,
    twins_cables,
    twins_fluids,
    twins_forces,
    twins_friction,
    twins_limits,
    twins_machines,
    twins_shapes,
    twins_solids,
    twins_surfaces,
)
from tests.statics.properties.claims import Identity
from tests.statics.properties.linear import BEAM, BODY, COUPLES, LAMINA, LINEAR, MECHANISM
from tests.statics.properties.loads import Reversal, parts, reversal, superposition
from tests.statics.properties.mirrors import MIRRORS
from tests.statics.properties.motions import Placed, motion_of
from tests.statics.properties.stretches import STRETCHES, stretched
from tests.statics.properties.twinning import TWINS
from tests.statics.properties.units_and_rows import automatic


def _names(*names: str) -> frozenset[str]:
    return frozenset(names)


ABOUT_ORIGIN = _names(
    "I_x", "I_y", "I_xy", "polar", "k_x", "k_y", "polar k", "parts I_x", "parts I_y"
)

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
    "centroids/composite-area": Placed(turns="none", leaves_out=_names("Q_x", "Q_y")),
    "centroids/composite-line": Placed(turns="none", leaves_out=_names("Q_x", "Q_y")),
    "centroids/composite-volume": Placed(3, turns="none", weighed={"first moment": "volume"}),
    "centroids/mass-centre": Placed(3, turns="none", weighed={"first moment": "mass"}),
    "centroids/centre-of-gravity": Placed(3, turns="none", weighed={"first moment": "weight"}),
    "second-moments/composite": Placed(turns="none", leaves_out=ABOUT_ORIGIN),
    "second-moments/section": Placed(turns="none"),
    "centroids/line-in-space": Placed(3, weighed={"first moment": "length"}),
    "rigging/bridle-in-space": Placed(3, turns="level"),
    "virtual-work/equilibrium-positions": Placed(
        arrows=_names("points[*].cosine", "points[*].sine")
    ),
    "virtual-work/holding-force": Placed(arrows=_names("points[*].cosine", "points[*].sine")),
    "virtual-work/stability": Placed(arrows=_names("points[*].cosine", "points[*].sine")),
    "virtual-work/work-of-forces": Placed(3, moves=False),
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
RADII = ("k_x", "k_y", "polar k")
ADDED_UP: Mapping[str, Identity] = {
    "centroids/composite-area": parts(
        _names("area", "Q_x", "Q_y", "areas", "centroids"), *SHAPES, centres={"centroid": "area"}
    ),
    "centroids/composite-line": parts(
        _names("length", "Q_x", "Q_y", "lengths", "centroids"),
        *PIECES,
        centres={"centroid": "length"},
    ),
    "centroids/line-in-space": parts(
        _names("length", "first moment", "lengths", "centroids"),
        "segments",
        centres={"centroid": "length"},
    ),
    "centroids/composite-volume": parts(
        _names("volume", "first moment", "volumes", "centroids"),
        *SOLIDS,
        centres={"centre": "volume"},
    ),
    "centroids/centre-of-gravity": parts(
        _names("weight", "first moment", "weights", "centroids"),
        *SOLIDS,
        "lumps",
        centres={"centre": "weight"},
    ),
    "centroids/mass-centre": parts(
        _names("mass", "first moment", "masses", "centroids"),
        *SOLIDS,
        "lumps",
        centres={"centre": "mass"},
    ),
    "centroids/between-curves": parts(
        _names("area", "Q_x", "Q_y"), "regions", centres={"centroid": "area"}
    ),
    "centroids/lamina": parts(
        LAMINA, "regions", centres={"centre": "mass"}, radii=dict.fromkeys(RADII, "mass")
    ),
    "centroids/solid-of-revolution": parts(
        _names("volume", "first moment"), "regions", centres={"centroid": "volume"}
    ),
    "centroids/pappus-surface": parts(_names("surface", "length"), *PIECES),
    "centroids/pappus-volume": parts(_names("volume", "area"), *SHAPES),
    "centroids/point-masses-plane": parts(
        _names("mass", "first moment"), "masses", centres={"centre": "mass"}
    ),
    "centroids/point-masses-space": parts(
        _names("mass", "first moment"), "masses", centres={"centre": "mass"}
    ),
    "second-moments/composite": parts(
        _names("area", "I_x", "I_y", "I_xy", "polar", "parts I_x", "parts I_y"),
        *SHAPES,
        centres={"centroid": "area"},
        radii=dict.fromkeys(RADII, "area"),
    ),
    "second-moments/between-curves": parts(
        _names("area", "I_x", "I_y", "I_xy", "polar"),
        "regions",
        centres={"centroid": "area"},
        radii=dict.fromkeys(RADII, "area"),
    ),
    "mass-moments/composite": parts(
        _names("moment of inertia", "mass"), "bodies", radii={"radius of gyration": "mass"}
    ),
    "distributed-loads/area-load": parts(_names("total", "forces", "intensities"), "patches"),
    "concurrent-forces/plane-resultant": parts(
        _names("resultant", "equilibrant", "components"), "forces"
    ),
    "concurrent-forces/space-resultant": parts(
        _names("resultant", "equilibrant", "components"), "forces"
    ),
    "virtual-work/work-of-forces": parts(_names("works", "total"), "forces", "couples"),
}


ENTERED = (
    twins_areas, twins_cables, twins_fluids, twins_forces, twins_friction, twins_limits,
    twins_machines, twins_shapes, twins_solids, twins_surfaces,
)  # fmt: skip
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
    yield from map(stretched, STRETCHES.get(owner.name, ()))
    yield from TWINS.get(owner.name, ())


def identities(owner: Family) -> tuple[Identity, ...]:
    """Every identity of a family."""
    return tuple(_every(owner))
