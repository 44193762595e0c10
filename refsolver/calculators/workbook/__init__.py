"""Workbooks under test: engines that recalculate them, and what can be said of them unrun.

An *engine* (:mod:`.engine`) fills a private copy of a workbook, recalculates it and reads
cells: :class:`.embedded.EmbeddedEngine` is quick and needs nothing installed,
:class:`.office.OfficeEngine` is LibreOffice Calc. Cells are named as in a formula
(:mod:`.references`). What a workbook contains is read without running it
(:mod:`.contents`): which cells an output rests on (:mod:`.graph`), what an engine may not
do justice to (:mod:`.survey`), and one number for "the same formulas"
(:mod:`.identity`). Whether an engine speaks a workbook is tried before it is used
(:mod:`.trust`).

This module imports nothing: the worker processes run parts of this package under a Python
that has the standard library only.
"""
