"""What holds of each of the set's pages, whatever it shows."""

from __future__ import annotations

import re

from django.test import Client

from tests.trusses.reading import text


class TestEveryPage:
    def test_keeps_the_policy_against_inline_script_and_style(self, client_of, designer, job, truss):
        client = client_of(designer)
        pages = [
            "/",
            f"/jobs/{job.pk}/",
            f"/jobs/{job.pk}/sheets/",
            f"/jobs/{job.pk}/trusses/new/",
            f"/jobs/{job.pk}/trusses/upload/",
            f"/jobs/{job.pk}/trusses/{truss.pk}/clear/?shape=circle&diameter=8",
        ]
        pages += [f"/jobs/{job.pk}/trusses/{truss.pk}/", f"/jobs/{job.pk}/trusses/{truss.pk}/revisions/0/"]
        for address in pages:
            page = client.get(address, follow=True)
            html = page.content.decode()
            assert "default-src 'self'" in page["Content-Security-Policy"]
            assert "unsafe-inline" not in page["Content-Security-Policy"]
            assert not re.search(r"<style|\sstyle=|<script(?![^>]*src=)|\son\w+=", html), address
            assert len(html) < 100_000, address

    def test_a_form_without_its_token_is_refused_in_words(self, builder, truss, job):
        client = Client(enforce_csrf_checks=True)
        client.force_login(builder)
        answer = client.post(f"/jobs/{job.pk}/trusses/{truss.pk}/copies/", {"to": "released"})
        assert answer.status_code == 403
        assert "That page was too old" in text(answer)
