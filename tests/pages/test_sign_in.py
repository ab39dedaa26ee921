"""Signing in by the link that the terminal prints, or by name and password; signing out."""

import logging

import pytest
from django.urls import reverse

from herdbook.book.models import SignInKey
from herdbook.book.services.opening import make_sign_in_key

SIGN_IN = "/sign-in/"


def test_it_works(client, cast):
    response = client.get(SIGN_IN, {"key": make_sign_in_key(cast.owner)})
    assert (response.status_code, response["Location"]) == (302, "/")
    assert response["Referrer-Policy"] == "no-referrer"
    assert "no-store" in response["Cache-Control"]
    assert client.get("/").status_code == 200


def test_a_link_signs_in_once(client, cast):
    key = make_sign_in_key(cast.owner)
    client.get(SIGN_IN, {"key": key})
    client.logout()
    response = client.get(SIGN_IN, {"key": key})
    assert response.status_code == 403
    assert response["Referrer-Policy"] == "no-referrer"
    assert "press Enter in the window where the herd-book runs" in response.content.decode()
    assert client.get("/").status_code == 302


@pytest.mark.parametrize("key", ["", "never made", "\x00", "é" * 500])
def test_it_refuses_an_unknown_key(client, cast, key):
    assert client.get(SIGN_IN, {"key": key}).status_code == 403


def test_it_refuses_a_stale_key(client, cast):
    key = make_sign_in_key(cast.owner)
    made = SignInKey.objects.get()
    made.expires_at = made.expires_at.replace(year=2020)
    made.save()
    assert client.get(SIGN_IN, {"key": key}).status_code == 403


def test_one_who_is_signed_in_spends_the_key_too(owner_client, cast):
    session = owner_client.session.session_key
    key = make_sign_in_key(cast.owner)
    response = owner_client.get(SIGN_IN, {"key": key})
    assert (response["Location"], response["Referrer-Policy"]) == ("/", "no-referrer")
    assert SignInKey.objects.get().used_at is not None
    assert owner_client.session.session_key == session, "open forms keep their token"


def test_one_who_is_signed_in_is_not_turned_away_by_a_spent_key(owner_client, cast):
    key = make_sign_in_key(cast.owner)
    for _again in range(2):
        assert owner_client.get(SIGN_IN, {"key": key})["Location"] == "/"
    assert owner_client.get("/").status_code == 200


def test_anothers_key_signs_the_other_in(owner_client, other_herd):
    other, _herd = other_herd
    owner_client.get(SIGN_IN, {"key": make_sign_in_key(other)})
    assert owner_client.get("/").context["user"] == other


@pytest.mark.parametrize("header", ["Sec-Purpose", "Purpose"])
def test_what_fetches_ahead_for_one_signed_in_spends_no_key(owner_client, cast, header):
    key = make_sign_in_key(cast.owner)
    response = owner_client.get(SIGN_IN, {"key": key}, headers={header: "prefetch"})
    assert response.status_code == 503
    assert SignInKey.objects.get().used_at is None


@pytest.mark.parametrize("header", ["Sec-Purpose", "Purpose"])
def test_what_fetches_ahead_spends_no_key(client, cast, header):
    key = make_sign_in_key(cast.owner)
    response = client.get(SIGN_IN, {"key": key}, headers={header: "prefetch;prerender"})
    assert response.status_code == 503
    assert client.get(SIGN_IN, {"key": key}).status_code == 302


def test_asking_for_the_head_spends_no_key(client, cast):
    key = make_sign_in_key(cast.owner)
    assert client.head(SIGN_IN, {"key": key}).status_code == 200
    assert client.get(SIGN_IN, {"key": key}).status_code == 302


def test_the_session_is_a_new_one(client, cast):
    client.get(SIGN_IN)
    client.session["left"] = "by a stranger"
    before = client.session.session_key
    client.get(SIGN_IN, {"key": make_sign_in_key(cast.owner)})
    assert client.session.session_key != before


def test_the_key_is_never_logged(client, cast, caplog):
    key = make_sign_in_key(cast.owner)
    # The book logs errors only: here everything that it might ever log.
    with caplog.at_level(logging.DEBUG), caplog.at_level(logging.DEBUG, logger="django"):
        client.get(SIGN_IN, {"key": key})
        client.logout()
        client.get(SIGN_IN, {"key": key})
    assert "Forbidden" in caplog.text  # the refusal is logged, so the log is read
    assert key not in caplog.text


def test_the_form_for_a_password_may_say_where_it_comes_from(client, cast):
    # With 'no-referrer' a browser sends 'Origin: null', and the form would be refused.
    assert client.get(SIGN_IN)["Referrer-Policy"] == "same-origin"


def test_a_password_signs_in(client, cast):
    cast.owner.set_password("hay and chaff")
    cast.owner.save()
    page = client.get("/animals/", follow=True)
    assert page.redirect_chain == [("/sign-in/?next=/animals/", 302)]
    sent = {"username": "ansel", "password": "hay and chaff", "next": "/animals/"}
    assert client.post(SIGN_IN, sent)["Location"] == "/animals/"


def test_a_wrong_password_is_said(client, cast):
    response = client.post(SIGN_IN, {"username": "ansel", "password": "straw"})
    page = response.content.decode()
    assert response.status_code == 200
    assert "Wrong name or password" in page
    assert 'value="ansel"' in page
    assert "straw" not in page


def test_it_leads_to_no_other_site(client, cast):
    cast.owner.set_password("hay and chaff")
    cast.owner.save()
    sent = {"username": "ansel", "password": "hay and chaff", "next": "https://example.org/"}
    assert client.post(SIGN_IN, sent)["Location"] == "/"


def test_signing_out_wants_a_press_of_the_button(owner_client):
    assert owner_client.get(reverse("sign-out")).status_code == 405
    assert owner_client.post(reverse("sign-out")).status_code == 302
    assert owner_client.get("/").status_code == 302
