"""What guided_fuzz.py gives to the readers, and how it watches them."""

from pathlib import Path

#: Records that older programs wrote, one of every kind of event in each.
CORPUS = Path(__file__).parents[2] / "tests" / "corpus"
