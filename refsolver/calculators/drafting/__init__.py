"""Drafting a calculator file: what a workbook's labels, units and formulas let one propose.

:mod:`.worksheet` reads the workbook, :mod:`.fields` finds its labelled inputs and outputs,
:mod:`.said_units` and :mod:`.words` read labels, :mod:`.slots` lists what a family takes and
gives, :mod:`.matching` brings the two together and ranks families, :mod:`.writing` writes
the file. :mod:`.blank` writes a blank one for the kinds that cannot be looked into.

Nothing is settled here. What the workbook states is quoted; what is guessed or missing is
marked (:mod:`refsolver.calculators.undecided`) and the file is refused until a person has
decided it.
"""
