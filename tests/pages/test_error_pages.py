"""What is shown when a page is not there, not allowed, or broken."""

import pytest
from django.core.exceptions import PermissionDenied


@pytest.fixture
def broken(owner_client, monkeypatch):
    """`broken(error)` asks for the first page while something in it raises that error."""

    def ask(error):
        def fail(request):
            raise error

        monkeypatch.setattr("herdbook.pages.home.herd_of", fail)
        owner_client.raise_request_exception = False
        response = owner_client.get("/")
        return response.status_code, response.content.decode()

    return ask


def test_a_page_that_is_not_there(owner_client):
    response = owner_client.get("/no/such/page/")
    page = response.content.decode()
    assert response.status_code == 404
    assert "There is no such page in the book" in page
    assert 'href="/animals/"' in page


def test_a_page_that_one_may_not_see(broken):
    status, page = broken(PermissionDenied("the herd of another"))
    assert status == 403
    assert "You may not do this with the name that you signed in with" in page
    assert "the herd of another" not in page


def test_a_page_that_is_broken(broken):
    status, page = broken(RuntimeError("rows and columns"))
    assert status == 500
    assert "That is a fault of the book, not of yours." in page
    assert "rows and columns" not in page
