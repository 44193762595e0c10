"""Which answers of which family are linear in which of its loads."""

from __future__ import annotations

from collections.abc import Mapping

from tests.statics.properties.loads import Loads


def _names(*names: str) -> frozenset[str]:
    return frozenset(names)


COUPLES = "couples[*].moment"
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
        _names("weight", "load"),
        _names("wall normal", "floor normal", "floor friction", "force at the foot"),
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
    "friction/band-brake": Loads(
        _names("effort", "torque"),
        frozenset(
            f"{what}, pulled end {turning}"
            for what in ("effort", "torque", "tight side", "slack side")
            for turning in ("slack", "tight")
        ),
    ),
    "friction/belt": Loads(_names("tension"), _names("tight", "slack", "difference", "torque")),
    "friction/block": Loads(
        _names("weight", "force"),
        _names("normal", "limiting friction", "force to move up", "force to hold"),
    ),
    "friction/blocks-in-a-row": Loads(
        _names("lower", "upper"), _names("force to move up", "link, moving up")
    ),
    "friction/blocks-over-a-pulley": Loads(
        _names("first"),
        _names(
            "least second weight", "greatest second weight", "cord, first going down",
            "cord, first going up",
        ),
    ),
    "friction/journal-bearing": Loads(
        _names("load"),
        _names("normal force", "friction")
        | {
            f"{what}, by {way}"
            for what in ("torque", "force", "power")
            for way in ("the friction circle", "mu r")
        },
    ),
    "friction/pivot-or-collar": Loads(
        _names("load", "pressure", "torque", "power"),
        _names("mean pressure")
        | {
            f"{what}, uniform {way}"
            for what in (
                "torque", "power", "load", "greatest pressure", "least pressure",
                "engaging force",
            )
            for way in ("pressure", "wear")
        },
    ),
    "friction/rolling": Loads(
        _names("load"),
        _names(
            "force to roll up", "force to roll down", "resistance", "resisting couple", "normal"
        ),
    ),
    "friction/screw": Loads(
        _names("load"),
        _names(
            "raising torque", "lowering torque", "raising effort", "lowering effort",
            "raising power",
        ),
    ),
    "friction/sheave-on-pin": Loads(
        _names("load"),
        _names("pull to raise", "pull to lower", "reaction, raising", "reaction, lowering"),
    ),
    "friction/shoe-brake": Loads(
        _names("effort", "torque"),
        frozenset(
            f"{what}, drum {way}"
            for what in ("effort", "torque", "normal", "friction")
            for way in ("helping", "opposing")
        ),
    ),
    "friction/slip-or-tip": Loads(
        _names("weight", "force"), _names("force to slip", "force to tip", "force to tip back")
    ),
    "rigging/two-legs": Loads(_names("load"), _names("tensions", "shares", "horizontal")),
    "rigging/equal-legs": Loads(_names("load"), _names("tension", "share", "horizontal")),
    "rigging/hanging-load": Loads(_names("load"), _names("tensions")),
    "rigging/bridle-in-space": Loads(_names("load"), _names("tensions")),
    "rigging/bridle-loads": Loads(_names("tension"), _names("loads")),
    "particle-equilibrium/running-pulley": Loads(_names("load"), _names("tension")),
    "virtual-work/rocking": Loads(_names("weight"), _names("stiffness")),
}  # fmt: skip
