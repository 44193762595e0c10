"""What each subject warns of: said in every report of a family of that subject.

The words defer to local codes and to licensed or qualified persons throughout. They are
kept together so that one reader can judge them together.
"""

BEAMS = (
    "Forces in an idealised beam at rest. Sections, connections and supports are designed to the "
    "applicable code, with its load combinations and factors, by a licensed engineer."
)

BRAKES = (
    "Friction coefficients scatter widely and fall with heat, water and oil: a brake is rated by "
    "test and code, and one near self-locking seizes without warning."
)

CABLES = (
    "A perfectly flexible, inextensible cable at rest. Ropes, anchorages and clearances are "
    "designed to the applicable code, with temperature, ice, wind, stretch and safety factors, by "
    "a licensed engineer."
)

CENTRES = (
    "A centre found here rests on the masses and places as stated; that of a real load is "
    "confirmed before it is lifted."
)

DAMS = (
    "A rigid body on a rigid joint, still fluid at its stated level: waves, ice, silt, "
    "earthquake, seepage, drains, foundation and cracking are left out or stated as given. Dams "
    "and retaining walls are designed and approved by licensed engineers under the applicable dam "
    "safety rules and codes."
)

DISCS = "Friction coefficients scatter widely; a clutch or brake is rated by test and code."

FORCE_SYSTEMS = (
    "Equivalent systems act alike on a rigid body as a whole only; stresses and deformations "
    "inside it differ. Design is for the applicable code and a licensed engineer."
)

FRAMES = (
    "Forces in an idealised frame or machine at rest: frictionless pins and pulleys, rigid "
    "weightless bodies. Parts, pins and supports are designed to the applicable code, for every "
    "load case and with its factors, by a licensed engineer; the force of a machine on what it "
    "holds is no rating of the machine."
)

GAUGES = (
    "Gauge readings depend on temperature, on the fluid actually used and on the instrument; "
    "pressure equipment is rated, tested and approved under the applicable code."
)

JOURNALS = (
    "A dry journal at a stated coefficient: lubrication, heat, wear and bearing pressure are left "
    "out, and coefficients scatter widely. Bearings are chosen and rated by their makers' data "
    "and the applicable code."
)

LADDERS = (
    "Friction coefficients scatter widely and ladders sway: a ladder is tied or footed, and set "
    "at the slope that the local rules state, whatever friction promises here."
)

LIFTING_MACHINES = (
    "Efforts of an ideal or measured machine, nothing more. Brakes, ratchets and rated capacities "
    "are chosen and lifts planned by a competent person under the applicable code; a machine "
    "found to hold its load by friction alone is no substitute for a brake."
)

LOADS_ALONG_A_LINE = (
    "The resultant serves equilibrium only: shear, bending and bearing follow from the spread "
    "load itself. Loads and their combinations are those of the local building code."
)

LOADS_ON_AREAS = (
    "Loads per area, their combinations and factors are those of the local building code and of a "
    "licensed engineer; historical figures are examples of arithmetic only."
)

MECHANISMS = (
    "An idealised mechanism: rigid bars, frictionless joints and guides. Lifts, presses and "
    "counterbalanced doors are guarded and designed to the applicable standards."
)

MOMENTS = (
    "A moment alone does not show that a part can carry it; strength and stability are for the "
    "applicable code and a licensed engineer."
)

PARALLEL_FORCES = (
    "A centre of gravity or a share of a load found here rests on the weights and places as "
    "stated; lifting, loading and structural work follow the local code and licensed practice."
)

PRESSES = (
    "Friction of seals, losses and the strength of the parts are left out. Presses, jacks and "
    "pressure equipment are rated, tested and approved under the applicable code."
)

REACTIONS = (
    "Reactions of an idealised rigid body. Supports, fixings and foundations are designed to the "
    "applicable code, for every load case and with its factors, by a licensed engineer."
)

RESULTANTS = (
    "A resultant at rest does not show that what it pulls on can carry it: anchors, eyes, ropes "
    "and structures are for the applicable code and a competent person."
)

RIGGING = (
    "Leg forces at rest from geometry and the stated assumption of sharing, nothing more. Rated "
    "capacities, choker reduction, edges, wear, shock and dynamic effects are not covered. Slings "
    "are chosen and lifts planned by a qualified person under the applicable standard and local "
    "law; low angles raise the tension steeply and are limited there."
)

ROCKING = (
    "Small rocking without slip of a rigid body. Things that can fall on people are fixed, "
    "whatever their stability here."
)

ROLLING = (
    "Coefficients of rolling resistance scatter widely with wheel, load and ground: what may roll "
    "is chocked or tied, and nobody stands in its way, whatever resistance promises here."
)

ROPES_BY_WRAPS = (
    "Friction coefficients scatter widely and fall with water, oil and heat: a rope that holds by "
    "wraps here is no measure for holding people or loads in practice."
)

SCREWS = (
    "Friction coefficients scatter widely and fall with oil and vibration: a screw that holds "
    "here is no substitute for a brake or a lock, which the applicable code prescribes."
)

SECTIONS = "A section's properties alone do not show that a part can carry its load."

SHEAVES = (
    "Friction of the pin alone: stiffness of the rope, wear and grease are left out, and "
    "coefficients scatter widely. A rope or block over which a load or a person hangs is chosen "
    "and inspected by a competent person under the applicable code."
)

SLIDING = "Friction coefficients scatter widely: wedge, chock or tie what must not slide."

STILL_FLUIDS = (
    "Still fluid at its stated level only: waves, surge, flow, ice, impact, seismic load and "
    "seepage are left out. Gates, dams, tanks and vessels are designed and approved by licensed "
    "engineers under the applicable code."
)

TENSIONS = (
    "A tension at rest is not a working load limit: ropes, chains, fittings and anchorages are "
    "chosen by the applicable code with its factors for shock, wear, knots and angle, under the "
    "responsibility of a competent person."
)

TIPPING = "Friction coefficients scatter widely: tie or chock what must neither slide nor tip."

TRIALS = "Friction coefficients scatter widely: two trials fix them for these surfaces only."

TRUSSES = (
    "Forces of an idealised truss: frictionless joints, loads on joints only, straight weightless "
    "members that neither buckle nor slip. Members, connections and supports are designed to the "
    "applicable code, for every load case and with its factors, by a licensed engineer."
)

UNITS = "A wrong unit is a wrong load: check the unit that a figure was printed in."

WEDGES = (
    "Friction coefficients scatter widely and fall with water, oil and vibration: a wedge under a "
    "load is blocked or tied, and cribbing goes in before anyone works beneath."
)

CORDS_OVER_PULLEYS = (
    f"{TENSIONS} The pulley is frictionless and small, the cable light and inextensible."
)
