"""A route written in metres is shown in feet to who counts in feet, and kept as deep as it was."""

import re

from tethera.rigging import read_route
from tethera.web.accounts.models import Account
from web.conftest import Club
from web.test_routes import keep, versions


def test_opened_in_feet_and_kept_a_route_is_as_deep_as_before(club: Club) -> None:
    keep(club)
    Account.objects.update(units="ft")
    html = club.member.get(f"{club.address}/routes/tallow-hole/change").content.decode()
    shown = dict(re.findall(r'name="(p\d\.(?:name|depth|guide_rope|anchors))" value="([^"]*)"', html))
    assert (shown["p1.depth"], shown["p1.guide_rope"]) == ("101.71", "147.64")  # 31 m and 45 m over 0.3048 m
    version = str(len(club.log()) - 1)
    sent = {**shown, "name": "Tallow Hole", "keep": "1", "version": version, "p0.depth": "40"}
    club.member.post(f"{club.address}/routes/tallow-hole/change", sent)
    route = read_route(versions(club)[-1].text).route
    assert len(versions(club)) == 2
    assert [(pitch.depth_m, pitch.guide_rope_m) for pitch in route.pitches] == [(12.19, None), (31.0, 45.0)]
