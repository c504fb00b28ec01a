"""The records (Django's admin) under the project's name and look."""

from __future__ import annotations

import re


def test_its_pages_wear_the_projects_tokens_last(admin_client):
    page = admin_client.get("/admin/").content.decode()
    places = [page.index(sheet) for sheet in ("admin/css/base", "project/tokens", "project/admin")]
    assert places == sorted(places)
    # light and dark are the tokens' matter: no second switch for them
    assert "dark_mode" not in page
    assert "theme.js" not in page
    assert re.search(r'id="site-name">\s*<a href="/admin/">Chord Change</a>', page)
