"""What of the plan behind a paper does not hold any more, loudly at its head."""

from tethera.labels.facts import Facts, said
from tethera.labels.flow import Flow
from tethera.labels.page import rich


def holds_no_more(flow: Flow, paper: Facts) -> None:
    """Each rope that is gone, short or not ready, with its pitch and why; nothing where all is as it was planned."""
    broken = paper.get("broken") or ()
    if not broken:
        return
    flow.heading("Do not go by this paper")
    flow.say(rich("What it was planned with has changed. Choose the ropes anew and print it again.", bold=True), 10.5)
    flow.gap(0.8)
    for each in broken:
        flow.say(said(each.get("message") or "", bold=True), 10.5, bar=True)
        flow.gap(0.8)
    flow.gap(1.2)
