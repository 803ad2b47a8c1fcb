"""What new rope loses in its first washes, where the store has no measurement of its own to go by."""

from dataclasses import dataclass

from tethera.rope.tables import figure


@dataclass(frozen=True, slots=True)
class Loss:
    """Shares of the length lost, from the least to the most, 0 to 1 [-]."""

    least: float
    most: float

    def left_m(self, length_m: float) -> tuple[float, float]:
        """Length left of a rope, from the shortest to the longest [m].

        >>> Loss(0.05, 0.12).left_m(100.0)
        (88.0, 95.0)
        """
        return length_m * (1 - self.most), length_m * (1 - self.least)


def published_loss() -> Loss:
    """The smallest and the largest figure that was read, of whatever fibre and wash.

    >>> published_loss().left_m(50.0)
    (42.0, 49.0)
    """
    return Loss(*(figure("rope", "first_washes", f"published_{end}").value for end in ("low", "high")))
