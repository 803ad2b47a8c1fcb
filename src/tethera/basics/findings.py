"""A finding: something odd about the data, shown beside the data with the way out."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """A doubt about a fact. It never refuses the fact.

    Parameters
    ----------
    code : stable name of the kind of doubt, for machines and tests ("length-ambiguous")
    where : what it is about, as a person would point at it ("rope TV7", "row 14, column Length")
    message : what is odd, one plain sentence
    way_out : what the keeper can do about it, one plain sentence
    """

    code: str
    where: str
    message: str
    way_out: str

    def __str__(self) -> str:
        return f"{self.where}: {self.message} {self.way_out}".strip()
