"""How often pages ask the database: as often for three rows as for one."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.changes.asking import HITS_WEB
from trusses.once import once, page


def asked(client, address: str) -> int:
    client.get(address)
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


class TestARequest:
    @pytest.mark.parametrize("who", ["builder", "designer"])
    def test_three_openings_take_no_more_than_one(self, answered, client_of, cast, who):
        client = client_of(cast[who])
        three = [{**HITS_WEB, "id": f"O{n}", "centre_in": [120 - 12 * n, 20]} for n in range(3)]
        one, more = answered(HITS_WEB), answered(*three)
        counts = [asked(client, reverse("changes:request", args=[change.pk])) for change in (one, more)]
        assert counts[0] == counts[1]
        assert counts[0] <= 30

    def test_a_second_look_draws_nothing(self, answered, client_of, designer, monkeypatch):
        from trusses import drawing

        address = reverse("changes:request", args=[answered(HITS_WEB).pk])
        first = client_of(designer).get(address).content
        drawn = []
        monkeypatch.setattr(drawing, "elevation", lambda *_, **__: drawn.append(1) or "<svg></svg>")
        again = client_of(designer).get(address).content
        assert drawn == []
        assert again.count(b"<svg") == first.count(b"<svg") > 3


class TestReadOnce:
    def test_only_while_a_page_is_made(self):
        read = []
        take = lambda: once("rows", lambda: read.append(1) or len(read))  # noqa: E731
        assert [take(), take()] == [1, 2]
        with page():
            assert [take(), take()] == [3, 3]
        with page():
            assert take() == 4
        assert take() == 5

    def test_a_form_that_is_sent_reads_anew(self, client_of, designer, answered, monkeypatch):
        """What it decides by is not what the page was made from."""
        from trusses.bearings import links

        read = []
        chain = links._chain_of
        monkeypatch.setattr(links, "_chain_of", lambda start: read.append(1) or chain(start))
        change = answered(HITS_WEB)
        client, address = client_of(designer), reverse("changes:request", args=[change.pk])
        read.clear()
        client.get(address)
        assert len(read) == 1
        client.post(reverse("changes:decide", args=[change.pk]), {"verdict": "approve"})
        assert len(read) > 1
