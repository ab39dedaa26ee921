"""A form that comes in with a stale or missing token is given back, filled."""

import html
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from herdbook.book.models import Animal

HERE = {"Origin": "http://testserver"}
PAGE = "/animals/new/"
TYPED = {
    "csrfmiddlewaretoken": "x" * 64,
    "submission_key": "k1",
    "name": 'Moss "the <b>bold</b>"',
    "sex": "sow",
    "state": "in_herd",
    "sureness": "sure",
    "remarks": "first line\nsecond line",
}


@pytest.fixture
def strict(cast):
    """A client whose forms must carry a token, signed in as the owner."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.owner)
    return client


def fields(response):
    """Names and values of the form that is given back, as a browser would send them."""
    form = re.search(r'<form[^>]* class="panel">(.*?)</form>', response.content.decode(), re.S)
    if form is None:
        return []
    found = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', form[1])
    return [(name, html.unescape(value)) for name, value in found]


def test_it_works(strict):
    response = strict.post(PAGE + "?state=paper", TYPED, headers=HERE)
    assert response.status_code == 403
    back = dict(fields(response))
    assert back.pop("csrfmiddlewaretoken") != TYPED["csrfmiddlewaretoken"]
    assert back == {name: value for name, value in TYPED.items() if name[:4] != "csrf"}
    assert 'action="/animals/new/?state=paper"' in response.content.decode()
    assert not Animal.objects.filter(name__startswith="Moss").exists()


def test_sent_again_it_is_saved(strict):
    again = dict(fields(strict.post(PAGE, TYPED, headers=HERE)))
    response = strict.post(PAGE, again, headers=HERE)
    assert response.status_code == 302
    moss = Animal.objects.get(name=TYPED["name"])
    assert moss.remarks.splitlines() == ["first line", "second line"]


def test_several_values_of_one_name_and_nested_names_stay(strict):
    sent = {"boars": ["one", "two"], "pups-0-sex": "sow", "pups-TOTAL_FORMS": "1"}
    response = strict.post("/litters/new/", sent, headers=HERE)
    back = [pair for pair in fields(response) if pair[0] != "csrfmiddlewaretoken"]
    assert back == [
        ("boars", "one"),
        ("boars", "two"),
        ("pups-0-sex", "sow"),
        ("pups-TOTAL_FORMS", "1"),
    ]
    page = response.content.decode()
    assert "<dt>Pups 0 sex</dt><dd>sow</dd>" in page
    assert "TOTAL FORMS" not in page


def test_it_says_that_a_photo_was_lost(strict):
    photo = SimpleUploadedFile("moss.jpg", b"not looked at")
    response = strict.post(PAGE, {**TYPED, "photo": photo}, headers=HERE)
    assert "The photo could not be kept" in response.content.decode()
    assert (
        "The photo could not be kept" not in strict.post(PAGE, TYPED, headers=HERE).content.decode()
    )


def test_a_password_is_not_sent_back(cast):
    client = Client(enforce_csrf_checks=True)
    sent = {"username": "ansel", "password": "hay and chaff", "new_password1": "hay and straw"}
    page = client.post("/sign-in/", sent, headers=HERE).content.decode()
    assert "Open the page again" in page
    assert "hay and" not in page


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://example.org"},
        {"Origin": "https://testserver"},
        {"Origin": "null"},
        {"Referer": "http://example.org/http://testserver/"},
        {},
    ],
)
def test_another_sites_form_is_not_given_back(strict, headers):
    response = strict.post(PAGE, TYPED, headers=headers)
    assert response.status_code == 403
    assert "This form came from another site" in response.content.decode()
    assert fields(response) == []
