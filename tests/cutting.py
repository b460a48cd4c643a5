"""The spool workbook as far as the cut list: the same templates, without the sheets that follow it.

Thousands of routes and typed states are tried on these sheets. Built alone they take a small part of the time, and
what stands on the others cannot change them: those only read from here. The whole workbook is recomputed in
`test_states.py`.
"""

from __future__ import annotations

from live import Live, some

from workbook_builder.build import Workshop

SHEETS = (
    "rules",
    "spools",
    "route",
    "details",
    "leg_more",
    "outlets",
    "items",
    "sketch",
    "cutlist",
    "cut_steps",
    "key",
    "tables_used",
    "checks",
)


def shop() -> Workshop:
    """A workshop whose spool workbook has these sheets alone."""
    return some(SHEETS)


def live(text: str | None, edition: str) -> Live:
    """These sheets, filled from a job file or blank, to type into."""
    return Live(text, edition, shop())
