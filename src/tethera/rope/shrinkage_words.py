"""What an answer about shrinkage rests on, in sentences, and what stands beside every one."""

import math

from tethera.rope.shrinkage import Shrinkage, fibre_of
from tethera.rope.tables import figure

SHRINKAGE_CAUTIONS = (
    "Measure one rope of a new reel before cutting the rest: makes differ more than any table says.",
    "A hotter or longer wash may take more. Count the rope afterwards, dry, and mark what was counted.",
    "In use it goes on losing length, and one half may lose more than the other: middle marks move.",
)


def shrinkage_rests_on(
    material: str | None, predictive: Shrinkage, *, kinds: int = 0, ropes: int = 1, uses: float = 0.0
) -> tuple[str, ...]:
    """What a length to buy rests on, one sentence each.

    Parameters
    ----------
    material : as declared, for the range it starts from
    predictive : the prediction that was used
    kinds : how many kinds of the fibre lean on each other; 0 where each stands alone
    ropes : bought together
    uses : after the first washes, as the length was asked for

    >>> from tethera.rope import prior_for
    >>> print(shrinkage_rests_on(None, prior_for(None))[0])
    Material not declared: counted as nylon, which shrinks more than polyester.
    """
    fibre = fibre_of(material)
    named: str = fibre
    told: list[str] = []
    if fibre == "not known":
        named = "nylon"
        why = f"“{material}” is no fibre this table knows" if material else "Material not declared"
        told = [f"{why}: counted as nylon, which shrinks more than polyester."]
    low, high = (100 * figure("rope", "shrinkage", "range", named, end).value for end in ("low", "high"))
    inside = 10 * figure("rope", "shrinkage", "range_cover").value
    usual = f"{named.capitalize()} loses {low:g} to {high:g} % in its first washes, {inside:g} ropes in 10"
    told.append(f"{usual}: {predictive.source}")
    if predictive.ropes:
        counted = "1 rope" if predictive.ropes == 1 else f"{predictive.ropes} ropes"
        told.append(f"{counted} of this kind measured here before and after, which sharpens that.")
    else:
        told.append("No rope of this kind was measured here before and after.")
    if kinds:
        told.append(f"{kinds} measured kinds of {named} tell of each other: a kind with few ropes leans on the rest.")
    if ropes > 1:
        told.append(f"All {ropes} ropes together are long enough with this confidence; ropes of one kind shrink alike.")
    if uses > 0:
        told.append(_in_use(uses))
    return tuple(told)


def _in_use(uses: float) -> str:
    alpha, beta = (figure("rope", "shrinkage", name).value for name in ("use_alpha", "use_beta"))
    scale = figure("rope", "shrinkage", "use_scale").value
    come = "all of it" if math.isinf(uses) else f"{-100 * math.expm1(-uses / scale):.0f} % of it after {uses:g} uses"
    return (
        f"In use it loses another {100 * alpha / (alpha + beta):.0f} % over its life, 10 % once in twenty, of which "
        f"{come} is reckoned with: judgement after two accounts, no store is known to have measured it."
    )
