"""Two marks on one wall that the drawing of one is asked to leave."""

from __future__ import annotations

import html
import re

from trusses.models import Placement

WALL = "basement bearing wall"
LEFT = '8" to the left on the plan'
MOVED = {"change": "moved", "joint": "C", "to_in": 232}
K2 = "K2, 3 copies: 2 set, 1 delivered"


def stand(mark, *numbers, direction="x", turned=False, x=0.0):
    """A row of some copies of a mark, or of all of them."""
    copies = mark.copies.filter(number__in=numbers) if numbers else mark.copies.all()
    along = {"direction": direction, "turned": turned, "spacing_in": 24, "count": copies.count()}
    copies.update(placement=Placement.objects.create(truss=mark, origin_x_in=x, origin_y_in=0, **along))


def read(client, address):
    page = client.get(address)
    assert page.status_code == 200
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", page.content.decode())))
