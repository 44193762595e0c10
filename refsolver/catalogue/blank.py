"""A commented blank case file, made from the family's own declaration."""

from __future__ import annotations

from collections.abc import Iterator

from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.kinds import AlternativesKind, Kind, TableKind
from refsolver.quantities.views import takes
from refsolver.statics.contract import Given
from refsolver.statics.givens import fields
from refsolver.statics.registry import family

__all__ = ["blank_case"]

_DIRECTION = (
    'angle = "35 deg", from = "+x", toward = "+y"',
    'slope = { "+x" = "4", "+y" = "3" }',
)


def blank_case(name: str) -> str:
    """A case file of the family with every given named. Raises UnknownFamily."""
    owner = family(name)
    lines = [
        f"# {owner.title}. Replace every text in angle brackets.",
        'title = "<short title>"',
        f'family = "{owner.name}"',
        'statement = "<the problem in your own words.>"',
        'topics = ["<word>"]',
        "",
        "[source]",
        '# work = "<key in sources.toml>"',
        '# place = "<example, page>"',
        'kind = "constructed"',
        'by = "<how the answer is known>"',
        "",
        *_table("given", owner.givens),
        "# One [[published]] for each printed answer, exactly as printed. Answers:",
    ]
    for answer, spec in owner.answers.items():
        lines.append(f"#   {answer}: {spec.says} ({_asked(spec.kind)})")
    first = next(iter(owner.answers))
    lines += ["[[published]]", f'answer = "{first}"']
    if isinstance(owner.answers[first].kind, AlternativesKind):
        lines += ["pick = 1", 'part = "<part>"']
    lines.append('value = "<62.0 lbf>"')
    return "\n".join(lines) + "\n"


def _asked(kind: Kind) -> str:
    """What can be asked of an answer, in the keys of a case file."""
    if isinstance(kind, AlternativesKind):
        parts = "; ".join(f"part {part}, {_asked(inner)}" for part, inner in kind.of.items())
        return f"pick: the number of the solution; {parts}"
    if isinstance(kind, TableKind):
        return _asked(kind.of)
    return f"take: {', '.join(takes(kind))}"


def _table(key: str, cls: type) -> Iterator[str]:
    yield f"[{key}]"
    below: list[str] = []
    for name, field in fields(cls).items():
        if field.shape in ("many", "one"):
            assert field.of is not None
            body = list(_table(f"{key}.{name}", field.of))
            if field.shape == "many":
                body[0] = f"[[{key}.{name}]]"
            below += [f"# {field.says}", *body]
        else:
            yield f"# {field.says}"
            yield f"{name} = {_sample(field)}"
    yield ""
    yield from below


def _sample(field: Given) -> str:
    number = f'"<number {_unit(field.dimension)}>"'
    samples = {
        "quantity": number,
        "quantities": f"[{number}]",
        "angle": '"<30 deg>"',
        "integer": "1",
        "text": '"<name>"',
        "choice": f'"<{" | ".join(field.choices)}>"',
        "point": "[" + ", ".join(['"<number unit of length>"'] * field.space) + "]",
        "direction": "{ " + _DIRECTION[0] + " }",
        "vector": f"{{ magnitude = {number}, {_DIRECTION[0]} }}",
    }
    return samples[field.shape]


def _unit(dimension: Dimension | None) -> str:
    return "" if dimension is None else f"unit of {dimension.name}"
