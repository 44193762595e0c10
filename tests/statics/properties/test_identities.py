"""Every family satisfies the identities declared for it, on generated and catalogued cases.

``REFSOLVER_PROPERTIES=50`` draws fifty cases for each instead of two.
"""

from __future__ import annotations

import os
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.statics.registry import families
from tests.statics.properties.claims import drawn_case, hold
from tests.statics.properties.declared import identities

CASES = int(os.environ.get("REFSOLVER_PROPERTIES", "2"))
TRIES = 120

ASKED = [
    pytest.param(owner, identity, id=f"{name}: {identity.name}")
    for name, owner in families().items()
    for identity in identities(owner)
]


@pytest.mark.parametrize(("owner", "identity"), ASKED)
@settings(max_examples=CASES, deadline=None)
@given(st.integers(0, 2**32))
def test_identity(owner, identity, seed):
    rng = random.Random(f"{owner.name} {identity.name} {seed}")
    for _ in range(TRIES):
        claim = identity.claim(owner, drawn_case(owner, rng), rng)
        if claim is not None and hold(owner, claim):
            return
    pytest.fail(f"no case of {TRIES} that {identity.name!r} speaks of")
