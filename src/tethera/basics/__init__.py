"""Lengths, partial dates and findings: what every room speaks in."""

from tethera.basics.dates import DateReading, PartialDate, read_date
from tethera.basics.findings import Finding
from tethera.basics.lengths import METRES_IN, LengthReading, Unit, measured_cm, need_cm, read_length, show_metres

__all__ = [
    "METRES_IN",
    "DateReading",
    "Finding",
    "LengthReading",
    "PartialDate",
    "Unit",
    "measured_cm",
    "need_cm",
    "read_date",
    "read_length",
    "show_metres",
]
