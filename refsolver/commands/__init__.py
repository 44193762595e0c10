"""The commands themselves, as click groups; see :mod:`refsolver.cli`."""

from __future__ import annotations

import click

from refsolver.commands import calculators, campaign, cases, check, records, reference

__all__ = ["commands"]


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="refsolver", message="refsolver %(version)s")
def commands() -> None:
    """Proven reference values for engineering statics, put to a calculator under test."""


for _command in (
    check.check,
    campaign.campaign,
    calculators.sheet,
    calculators.draft,
    reference.selfcheck,
    reference.solve,
    reference.mistakes,
    records.verify,
    records.sign,
    records.compare,
    cases.cases,
):
    commands.add_command(_command)
