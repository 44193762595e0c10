"""A mistake that forgets a given gives what the case without that given gives."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import ctx, fmpq

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.statics.registry import families
from tests.statics.test_mistakes_in_other_units import alike, mistaken
from tests.statics.test_working import numbers

NONE, FLAT, LEVEL = fmpq(0), Turn(fmpq(1, 4)), Turn(fmpq(0))
FORGOTTEN = [
    # family, mistake, what is left of the givens, answers that the mistake does not touch
    ("force-systems/plane-reduction", "couples left out", {"couples": ()}, ()),
    ("force-systems/single-force", "couples left out", {"couples": ()}, ()),
    ("force-systems/space-reduction", "couples left out", {"couples": ()}, ()),
    ("force-systems/wrench", "couples left out", {"couples": ()}, ()),
    ("friction/belt", "groove left out", {"groove": Turn(fmpq(1, 2))}, ()),
    ("friction/blocks-in-a-row", "friction left out",
     {"lower_friction": NONE, "upper_friction": NONE}, ("angle of repose", "link at repose")),
    ("friction/blocks-over-a-pulley", "friction left out",
     {"first_friction": NONE, "second_friction": NONE}, ()),
    ("friction/face-size", "cone taken as flat", {"half_angle": FLAT}, ()),
    ("friction/pivot-or-collar", "cone taken as flat", {"half_angle": FLAT}, ()),
    ("friction/screw", "collar left out", {"collar_friction": NONE}, ()),
    ("friction/screw", "thread taken as square", {"thread_angle": LEVEL}, ()),
    ("friction/sheave-on-pin", "parts taken as parallel", {"between": LEVEL}, ()),
    ("friction/shoe-brake", "friction left out of the lever", {"friction_arm": NONE},
     ("locking coefficient",)),
    ("friction/wedge", "friction left out",
     {"friction": NONE, "floor_friction": NONE, "wall_friction": NONE}, ()),
    ("hydrostatics/hinged-gate", "lean of the holding force left out", {"lean": LEVEL},
     ("hinge", "hinge across", "hinge along")),
    ("hydrostatics/press", "rise left out", {"rise": NONE, "specific_weight": None}, ()),
]  # fmt: skip


@pytest.mark.parametrize(("family", "name", "without", "others"), FORGOTTEN)
def test_what_is_forgotten_might_as_well_not_be_there(family, name, without, others):
    owner = families()[family]
    mistake = next(m for m in owner.mistakes if m.name == name)
    for seed in range(3):
        given = owner.propose((1.0, 30.0), random.Random(f"{family} {seed}"))
        with ctx.workprec(200):
            wrong = mistaken(owner, mistake, given)
            bare = attrs.evolve(given, **without)
            right = owner.solve(bare, EnclosureArithmetic(), owner.rule_set()).answers
            for answer in set(right) - set(others):
                two = [list(numbers(answers[answer])) for answers in (wrong, right)]
                assert alike(*two), (answer, given)
