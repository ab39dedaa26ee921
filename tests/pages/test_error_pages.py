"""What is shown when a page is not there, not allowed, or broken."""

import re

import pytest
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from herdbook.pages.litters.pups import MOST_PUPS


@pytest.fixture
def broken(owner_client, monkeypatch):
    """`broken(error)` asks for the first page while something in it raises that error."""

    def ask(error):
        def fail(request):
            raise error

        monkeypatch.setattr("herdbook.pages.herd.home.herd_of", fail)
        owner_client.raise_request_exception = False
        response = owner_client.get("/")
        return response.status_code, response.content.decode()

    return ask


def test_a_page_that_is_not_there(owner_client):
    response = owner_client.get("/no/such/page/")
    page = response.content.decode()
    assert response.status_code == 404
    assert "There is no such page, or it belongs to another herd." in page
    assert 'href="/animals/"' in page


def test_a_page_that_one_may_not_see(broken):
    status, page = broken(PermissionDenied("the herd of another"))
    assert status == 403
    assert "The name you signed in with may not do this." in page
    assert "the herd of another" not in page


def test_a_page_that_is_broken(broken):
    status, page = broken(RuntimeError("rows and columns"))
    assert status == 500
    assert "This is a fault in the herd-book, not something you did." in page
    assert "rows and columns" not in page


def test_a_name_of_the_book_that_it_does_not_go_by(owner_client):
    response = owner_client.get("/", headers={"host": "elsewhere.example"})
    page = response.content.decode()
    assert response.status_code == 400
    assert "The herd-book could not read what your browser sent, so nothing was saved." in page
    assert "elsewhere" not in page
    assert "default-src 'none'" in response["Content-Security-Policy"]


def test_a_page_with_too_many_fields(owner_client):
    fields = dict.fromkeys(map(str, range(settings.DATA_UPLOAD_MAX_NUMBER_FIELDS + 1)), "")
    response = owner_client.post(reverse("record-litter"), fields)
    assert response.status_code == 400
    page = response.content.decode()
    assert "The herd-book could not read what your browser sent, so nothing was saved." in page


def test_the_fullest_litter_page_has_far_fewer_fields_than_are_taken(owner_client):
    page = owner_client.get(reverse("record-litter")).content.decode()
    names = set(re.findall(r'name="([^"]+)"', page))
    a_pup = [name for name in names if name.startswith("pups-__prefix__-")]
    assert len(a_pup) > 10
    boars = page.count('name="boars"')
    fullest = len(names) + boars + MOST_PUPS * len(a_pup)
    assert fullest < settings.DATA_UPLOAD_MAX_NUMBER_FIELDS / 2
