"""Commands about records: altered or not, signed, compared."""

from __future__ import annotations

import json
from pathlib import Path

import click

from refsolver.commands.terminal import FORMAT, PATH, say

__all__ = ["compare", "sign", "verify"]


@click.command()
@click.argument("record", type=PATH)
@click.option("--file", "copy", type=PATH, help="Is this copy the validated one?")
@click.option("--signature", type=PATH, help="Is this a signature of the record?")
@click.option("--public", type=PATH, help="With --signature: the signer's public key.")
@FORMAT
def verify(
    record: Path, copy: Path | None, signature: Path | None, public: Path | None, form: str
) -> int:
    """Has this record been altered; can it be reproduced; is a copy the validated one."""
    import attrs

    from refsolver.records.signing import signature_problem
    from refsolver.runs.verifying import verify as verified

    if (signature is None) != (public is None):
        raise click.UsageError("--signature and --public go together: give both or none")
    unsigned = ""
    if signature is not None and public is not None:
        unsigned = signature_problem(record, signature, public)
    found = verified(record, copy)
    holds = found.holds and not unsigned
    if form == "json":
        data = attrs.asdict(found) | {"holds": holds}
        if signature is not None:
            data["signature"] = unsigned or "holds"
        say(json.dumps(data, indent=2))
        return 0 if holds else 1
    for problem in (*found.altered, *found.not_reproduced, *found.copy, *filter(None, [unsigned])):
        say(problem)
    if found.unchecked:
        say(f"not looked at: {found.unchecked}")
    say(found.text(copy, None if signature is None else not unsigned))
    return 0 if holds else 1


@click.command()
@click.argument("record", type=PATH)
@click.option(
    "--key",
    type=PATH,
    required=True,
    help="Your Ed25519 private key, a PEM file.",
)
def sign(record: Path, key: Path) -> int:
    """A detached signature of a record with your own key, beside it as RECORD.sig."""
    from refsolver.records.alterations import stated
    from refsolver.records.canonical import read_record
    from refsolver.records.signing import sign_record

    path = sign_record(record, key)
    say(f"signed: {stated(read_record(record))}")
    say(f"written: {path}")
    return 0


@click.command()
@click.argument("old", type=PATH)
@click.argument("new", type=PATH)
@FORMAT
def compare(old: Path, new: Path, form: str) -> int:
    """Two records of one calculator: what changed, beyond tolerance or not (Markdown)."""
    from refsolver.records.canonical import read_record, understood
    from refsolver.records.comparing import compared

    with understood(f"{old} or {new}"):
        found = compared(read_record(old), read_record(new))
        said = json.dumps(found.data(), indent=2) if form == "json" else found.markdown()
    say(said)
    return 1 if found.matters else 0
