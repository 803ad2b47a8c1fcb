"""Chaining: folding a long rope into strands and looping it into a chain, so that a machine does not tangle it."""

from tethera.rope.tables import figure


def chain_length_m(length_m: float, strands: int) -> float:
    """Length of the chain that a rope makes, folded into so many strands.

    In a chain of simple loops each loop is pulled through the one before, so that everywhere three runs of the folded
    rope lie side by side: the chain is a third as long. An estimate: turns shorten it, slack loops lengthen it, by some
    20 % either way (tables/chaining.toml).

    Parameters
    ----------
    length_m : length of the rope [m], more than 0
    strands : strands it is folded into, 1 for a rope that is not folded

    >>> chain_length_m(30.0, 1), chain_length_m(48.0, 4)
    (10.0, 4.0)
    """
    if not length_m > 0 or strands < 1:
        raise ValueError(f"a rope is longer than 0 m and has at least one strand, not {length_m:g} m and {strands}")
    return length_m / strands * figure("rope", "chaining", "share_of_length").value


def strands_to_fold(length_m: float) -> int:
    """Into how many strands to fold a rope before chaining it: halved until its chain is short enough to handle.

    Folding halves it each time, so 1, 2, 4 or 8. A rope too long even for the most strands that can be looped by hand
    gets those: its chain is then longer than one likes.

    Parameters
    ----------
    length_m : length of the rope [m], more than 0

    >>> strands_to_fold(12.0), strands_to_fold(30.0), strands_to_fold(60.0), strands_to_fold(200.0)
    (1, 2, 4, 8)
    """
    strands = 1
    most = figure("rope", "chaining", "most_strands").value
    while chain_length_m(length_m, strands) > figure("rope", "chaining", "longest_chain").value and strands * 2 <= most:
        strands *= 2
    return strands
