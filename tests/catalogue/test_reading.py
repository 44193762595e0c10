"""Case files: every way of stating a direction, and every complaint with its key."""

import pytest
from flint import fmpq

from refsolver.arithmetic.exact import Turn
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import CaseFileError
from refsolver.catalogue.writing import case_text
from refsolver.quantities.leaves import ByAngle, ByAxisAngles, ByAzimuth, ByRun, Components, Polar
from refsolver.quantities.units import read_unit
from refsolver.statics.registry import family

HEAD = """
title = "A made-up case"
family = "{family}"
statement = "Made up for a test."
[source]
kind = "constructed"
by = "made up"
"""
PLANE = "concurrent-forces/plane-resultant"
SPACE = "concurrent-forces/space-resultant"


def read(tmp_path, body, name=PLANE):
    path = tmp_path / "case.toml"
    path.write_text(HEAD.format(family=name) + body, encoding="utf-8")
    return read_case(path, "case", Catalogue().works)


def complaints(tmp_path, body, name=PLANE):
    with pytest.raises(CaseFileError) as caught:
        read(tmp_path, body, name)
    return {c.key: c.what for c in caught.value.complaints}


def force_of(tmp_path, text, name=PLANE):
    return read(tmp_path, f"[[given.forces]]\nforce = {text}\n", name).given.forces[0].force


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('{ magnitude = "9 lbf", angle = "30 deg" }', Polar(fmpq(9), ByAngle(Turn(fmpq(1, 12))))),
        (
            '{ magnitude = "9 lbf", angle = "-30 deg", from = "-y", toward = "+x" }',
            Polar(fmpq(9), ByAngle(Turn(fmpq(-1, 12)), "-y", "+x")),
        ),
        (
            '{ magnitude = "9 lbf", slope = { "+x" = "4", "-y" = "3" } }',
            Polar(fmpq(9), ByRun((fmpq(4), fmpq(-3)))),
        ),
        ('{ magnitude = "9 lbf", run = ["4", "3"] }', Polar(fmpq(9), ByRun((fmpq(4), fmpq(3))))),
        ('{ magnitude = "9 lbf", along = "-y" }', Polar(fmpq(9), ByRun((fmpq(0), fmpq(-1))))),
        (
            '{ magnitude = "9 lbf", points = [["1 ft", "1 ft"], ["5 ft", "-2 ft"]] }',
            Polar(fmpq(9), ByRun((fmpq(4), fmpq(-3)))),
        ),
        ('{ components = ["3 lbf", "-4.5 lbf"] }', Components((fmpq(3), fmpq(-9, 2)))),
    ],
)
def test_plane_forms(tmp_path, text, expected):
    assert force_of(tmp_path, text) == expected


def test_points_are_told_apart_by_their_lengths_not_by_their_figures(tmp_path):
    ends = '[["1 m", "0 m"], ["1 cm", "0 m"]]'
    run = force_of(tmp_path, f'{{ magnitude = "9 N", points = {ends} }}').direction.run
    assert run == (fmpq(-99, 100), fmpq(0))
    same = complaints(
        tmp_path,
        '[[given.forces]]\nforce = { magnitude = "9 N", points = [["1 m", "0 m"], '
        '["100 cm", "0 m"]] }\n',
    )
    assert same == {"given.forces[1].force.points": "has no length, so it states no direction"}


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ('{ magnitude = "9 N", axis_angles = { x = "60 deg", y = "45 deg", z = "60 deg" } }',
         ByAxisAngles),
        ('{ magnitude = "9 N", axis_angles = { x = "60 deg", y = "45 deg", sense = "-z" } }',
         ByAxisAngles),
        ('{ magnitude = "9 N", azimuth = "20 deg", elevation = "35 deg" }', ByAzimuth),
        ('{ magnitude = "9 N", cosines = ["0.6", "0", "0.8"] }', ByRun),
        ('{ magnitude = "9 N", points = [["0 m", "0 m", "0 m"], ["1 m", "2 m", "2 m"]] }', ByRun),
    ],
)  # fmt: skip
def test_space_forms(tmp_path, text, kind):
    assert isinstance(force_of(tmp_path, text, SPACE).direction, kind)


def test_units_mix_freely_and_stay_exact(tmp_path):
    case = read(
        tmp_path,
        '[[given.forces]]\nforce = { magnitude = "2 kip", angle = "0 deg" }\n'
        '[[given.forces]]\nforce = { magnitude = "500 lbf", angle = "0 deg" }\n',
    )
    assert [f.force.magnitude for f in case.given.forces] == [fmpq(2), fmpq(1, 2)]
    assert case.units.force == read_unit("kip")


@pytest.mark.parametrize(
    ("body", "key", "said"),
    [
        ("", "given.forces", "missing"),
        ("[given]\nforces = []\n", "given.forces", "at least 1"),
        ('[[given.forces]]\nforce = { magnitude = "9 lbf" }\n', "given.forces[1].force",
         "no direction"),
        ('[[given.forces]]\nforce = { magnitude = "9 lbf", angle = "3 deg", along = "+x" }\n',
         "given.forces[1].force", "2 directions"),
        ('[[given.forces]]\nforce = { magnitude = 9.0, angle = "3 deg" }\n',
         "given.forces[1].force.magnitude", "as a text"),
        ('[[given.forces]]\nforce = { magnitude = "9 ft", angle = "3 deg" }\n',
         "given.forces[1].force.magnitude", "force is expected"),
        ('[[given.forces]]\nforce = { magnitude = "9", angle = "3 deg" }\n',
         "given.forces[1].force.magnitude", "no unit"),
        ('[[given.forces]]\nforce = { magnitude = "9 ton", angle = "3 deg" }\n',
         "given.forces[1].force.magnitude", "ton"),
        ('[[given.forces]]\nforce = { magnitude = "9 lbf", run = ["0", "0"] }\n',
         "given.forces[1].force.run", "no length"),
        ('[[given.forces]]\nforce = { magnitude = "9 lbf", angle = "3 deg", from = "+x", '
         'toward = "-x" }\n', "given.forces[1].force", "perpendicular"),
    ],
)  # fmt: skip
def test_complaints_name_the_key(tmp_path, body, key, said):
    found = complaints(tmp_path, body)
    assert key in found and said in found[key], found


@pytest.mark.parametrize("span", ["-3 m", "0 m", "2 - sqrt(5) m", "3 - pi m"])
def test_a_quantity_below_zero_is_refused_also_where_it_is_no_rational(tmp_path, span):
    body = f'[given]\nspan = "{span}"\nload = "2 N/m"\nlength = "9 m"\n'
    path = tmp_path / "case.toml"
    path.write_text(HEAD.format(family="cables/catenary") + body, encoding="utf-8")
    with pytest.raises(CaseFileError) as refused:
        read_case(path, "case", Catalogue().works)
    assert "must be positive" in str(refused.value)


def test_published_complaints(tmp_path):
    body = (
        '[[given.forces]]\nforce = { magnitude = "9 lbf", angle = "3 deg" }\n'
        '[[published]]\nanswer = "resultan"\nvalue = "9 lbf"\n'
        '[[published]]\nanswer = "resultant"\ntake = "magnitude"\nvalue = "9 ft"\n'
        '[[published]]\nanswer = "resultant"\ntake = "magnitude"\nvalue = "9 lbf"\n'
        'tolerance = "1 lbf"\n'
        '[[published]]\nanswer = "resultant"\ntake = "height"\nvalue = "9 lbf"\n'
    )
    found = complaints(tmp_path, body)
    assert {"published[1]", "published[2].value", "published[3].tolerance", "published[4]"} <= set(
        found
    )


def test_a_citable_source_names_work_and_place(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(
        HEAD.format(family=PLANE).replace('kind = "constructed"\nby = "made up"', 'work = "none"')
        + '[[given.forces]]\nforce = { magnitude = "9 lbf", angle = "3 deg" }\n'
    )
    with pytest.raises(CaseFileError, match=r"not listed in sources\.toml"):
        read_case(path, "case", Catalogue().works)


def test_every_case_writes_and_reads_back_to_the_same_givens(tmp_path):
    """What the writer writes is what the reader reads, over the whole catalogue.

    The writer writes cases made by the families' generators, which ask nothing inversely.
    """
    catalogue = Catalogue()
    path = tmp_path / "again.toml"
    for case in catalogue.cases():
        if hasattr(case.given, "sought"):
            continue
        path.write_text(
            case_text(
                family(case.family), case.given, case.units, title=case.title,
                statement=case.statement, by="written again",
            ),
            encoding="utf-8",
        )  # fmt: skip
        assert read_case(path, case.id, catalogue.works).given == case.given, case.id
