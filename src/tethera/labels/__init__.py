"""All that is printed or drawn, from plain mappings: sheets, lists and records, and the drawings of the pages.

A length of rope stands in a capsule and a depth on a vertical dimension or behind an arrow, everywhere. In free text
of a mapping, “(30 m)” is drawn as a capsule and “↓22 m” as a depth.
"""

from tethera.labels.anchor_svg import anchor_svg
from tethera.labels.costs_svg import costs_svg
from tethera.labels.fault_line_svg import fault_line_svg
from tethera.labels.force_svg import force_band_svg, force_chart_svg, ranking_svg
from tethera.labels.length_chart import length_chart_svg, length_rows
from tethera.labels.life_svg import life_svg
from tethera.labels.mark import PAPERS, EndMark, NoMark, end_marks, mark_words, most_m
from tethera.labels.marking import Marking, tubes_to_cut
from tethera.labels.packing_pdf import packing_list_pdf
from tethera.labels.record_pdf import record_pdf
from tethera.labels.reel_svg import reel_svg
from tethera.labels.route_svg import key_svg, pitch_svg
from tethera.labels.sheet_pdf import rigging_sheet_pdf
from tethera.labels.shrinkage_svg import shrinkage_svg
from tethera.labels.signs_svg import mark_svg, state_sign_svg
from tethera.labels.stretch_svg import stretch_svg
from tethera.labels.strip_pdf import diameter_over_tape, strip_size_mm, strip_svg, strips_pdf
from tethera.labels.svg import elevation_svg
from tethera.labels.years_svg import years_svg

__all__ = [
    "PAPERS",
    "EndMark",
    "Marking",
    "NoMark",
    "anchor_svg",
    "costs_svg",
    "diameter_over_tape",
    "elevation_svg",
    "end_marks",
    "fault_line_svg",
    "force_band_svg",
    "force_chart_svg",
    "key_svg",
    "length_chart_svg",
    "length_rows",
    "life_svg",
    "mark_svg",
    "mark_words",
    "most_m",
    "packing_list_pdf",
    "pitch_svg",
    "ranking_svg",
    "record_pdf",
    "reel_svg",
    "rigging_sheet_pdf",
    "shrinkage_svg",
    "state_sign_svg",
    "stretch_svg",
    "strip_size_mm",
    "strip_svg",
    "strips_pdf",
    "tubes_to_cut",
    "years_svg",
]
