"""Lengths, partial dates and findings: what every room speaks in."""

from tethera.basics.dates import FIRST_YEAR, LAST_YEAR, DateReading, PartialDate, read_date, spoken_days
from tethera.basics.findings import Finding
from tethera.basics.lengths import (
    METRES_IN,
    LengthReading,
    Unit,
    label_m,
    measured_cm,
    need_cm,
    read_length,
    show_metres,
    whole_feet,
)
from tethera.basics.workbook import Cell, Sheet, UnreadableWorkbook, cell_address, read_workbook

__all__ = [
    "FIRST_YEAR",
    "LAST_YEAR",
    "METRES_IN",
    "Cell",
    "DateReading",
    "Finding",
    "LengthReading",
    "PartialDate",
    "Sheet",
    "Unit",
    "UnreadableWorkbook",
    "cell_address",
    "label_m",
    "measured_cm",
    "need_cm",
    "read_date",
    "read_length",
    "read_workbook",
    "show_metres",
    "spoken_days",
    "whole_feet",
]
