"""Photos: bounded, written anew without what the camera put into them, shown to members of the job alone."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from changes import photos
from changes.models import Photo
from changes.refusals import NotAllowed
from tests.refused import refused
from trusses import pictures
from trusses.refusals import Refused


def picture(size=(64, 48), kind="JPEG", color=(200, 40, 40), **more):
    out = io.BytesIO()
    Image.new("RGB", size, color).save(out, kind, **more)
    return out.getvalue()


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def kept(builder, job, sent):
    photo = photos.keep(builder, job, io.BytesIO(sent), len(sent))
    return photo, photos.path_of(job.pk, photo.sha256).read_bytes()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_what_is_kept_is_a_jpeg_of_its_size(builder, job, kind):
    photo, held = kept(builder, job, picture(kind=kind))
    with Image.open(io.BytesIO(held)) as image:
        assert (image.format, image.size) == ("JPEG", (64, 48))
    assert (photo.width_px, photo.height_px) == (64, 48)


def test_where_it_was_taken_goes_and_it_stands_upright(builder, job):
    exif = Image.Exif()
    exif[0x0112] = 6  # turned a quarter
    exif[0x010F] = "a camera"
    exif.get_ifd(0x8825).update({1: "N", 2: (39.0, 44.0, 21.5), 3: "W", 4: (104.0, 59.0, 5.0), 29: "2026:11:27"})
    sent = picture(exif=exif)
    with Image.open(io.BytesIO(sent)) as image:
        assert image.getexif().get_ifd(0x8825)[2] == (39.0, 44.0, 21.5)
    assert b"a camera" in sent
    assert b"2026:11:27" in sent
    photo, held = kept(builder, job, sent)
    assert (photo.width_px, photo.height_px) == (48, 64)
    assert b"a camera" not in held
    assert b"2026:11:27" not in held
    with Image.open(io.BytesIO(held)) as image:
        assert not image.getexif()
        assert "exif" not in image.info


def test_a_large_one_is_scaled_down(builder, job):
    photo, _ = kept(builder, job, picture((3200, 1600)))
    assert (photo.width_px, photo.height_px) == (1600, 800)


@pytest.mark.parametrize(
    "sent",
    [
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + b"\0" * 40,
        picture()[:300],
        b"\xff\xd8\xff" + b"\0" * 100,
        picture(kind="PNG")[:60],
    ],
)
def test_what_is_no_picture_is_refused_and_nothing_is_kept(builder, job, sent, tmp_path):
    with refused(Refused, "photo-none"):
        photos.keep(builder, job, io.BytesIO(sent), len(sent))
    assert not Photo.objects.exists()
    assert not list(tmp_path.rglob("*.jpg"))


def test_bytes_and_pixels_are_bounded(builder, job, monkeypatch):
    sent = picture((100, 100))
    with refused(Refused, "photo-too-large"):
        photos.keep(builder, job, io.BytesIO(sent), pictures.MOST_BYTES + 1)
    monkeypatch.setattr(pictures, "MOST_PIXELS", 9_999)
    with refused(Refused, "photo-too-many-pixels"):
        photos.keep(builder, job, io.BytesIO(sent), len(sent))
    monkeypatch.setattr(pictures, "MOST_PIXELS", 10_000)
    assert photos.keep(builder, job, io.BytesIO(sent), len(sent)).pk


def test_only_members_may_send(cast, job):
    with pytest.raises(NotAllowed):
        photos.keep(cast["outsider"], job, io.BytesIO(picture()), 1)
    for who in ("builder", "designer", "site lead"):
        photos.keep(cast[who], job, io.BytesIO(picture()), 1)


def test_members_see_it_and_nobody_else(cast, job, client_of, builder):
    photo, held = kept(builder, job, picture())
    seen = {who: client_of(person).get(f"/photos/{photo.pk}/") for who, person in cast.items()}
    assert {who: answer.status_code for who, answer in seen.items()} == {
        "builder": 200,
        "designer": 200,
        "site lead": 200,
        "outsider": 404,
        "nobody": 302,
    }
    assert b"".join(seen["builder"].streaming_content) == held
    assert seen["builder"]["Content-Type"] == "image/jpeg"
    assert client_of(builder).get("/photos/99999/").status_code == 404


def test_a_program_sends_one_and_names_it_in_an_ask(api_of, builder, outsider, job, truss, needed_by):
    from django.core.files.uploadedfile import SimpleUploadedFile

    def send(person, **body):
        return api_of(person).post(f"/api/v1/jobs/{job.pk}/photos/", body, format="multipart")

    def file():
        return SimpleUploadedFile("a.jpg", picture(), "image/jpeg")

    assert send(builder).json() == {"photo": ["photo: Choose a photo."]}
    assert send(builder, photo=SimpleUploadedFile("a.jpg", b"no")).status_code == 400
    assert send(outsider, photo=file()).status_code == 404
    answer = send(builder, photo=file())
    assert answer.status_code == 201
    asks = [
        {
            "truss": truss.pk,
            "kind": "damage",
            "copies": [1],
            "damage": {"member": "W1", "how": "cut", "at_in": 5},
            "photos": [answer.json()["id"]],
        }
    ]
    body = {"job": job.pk, "reason": "A web is cut", "needed_by": needed_by.isoformat(), "asks": asks}
    filed = api_of(builder).post("/api/v1/requests/", body, format="json")
    assert filed.status_code == 201, filed.json()
    told = api_of(builder).get(f"/api/v1/requests/{filed.json()['id']}/").json()
    assert told["asks"][0]["wish"]["photos"] == [answer.json()["id"]]
