"""What an analysis found of several webs alike is one sentence on a page."""

from __future__ import annotations

from tests.trusses.drawn import king_post
from trusses.words.findings import at_once


def found(code, where, says):
    return {"code": code, "where": where, "says": says}


def test_webs_that_rely_on_equally_many_rows_are_told_once():
    document = king_post(lateral_restraint={"webs": {"W1": 1}})
    document["members"].append({**document["members"][-1], "id": "W9"})
    rows = document["lateral_restraint"]["webs"]
    rows["W9"] = 1
    web = [found("web-restraint", f"member {name}", f"{name} relies on 1 row: alone.") for name in ("W1", "W9")]
    uplift = found("uplift", "bearing A", "Lifted.")
    told = at_once([web[0], uplift, web[1]], document)
    assert told[1:] == ["Lifted."]
    assert told[0].startswith("Each of W1 and W9 relies on 1 row of lateral restraint: ")
    rows["W9"] = 2
    assert at_once(web, document) == [one["says"] for one in web]
    assert at_once([uplift, uplift], document) == ["Lifted."]
