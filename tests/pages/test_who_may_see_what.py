"""Every page of the site, asked for by its owner, by another breeder and by nobody.

The site map is walked: a new page fails here until a line of `site_map.py` says how it is reached.
"""

import uuid

import pytest
from django.urls import reverse

from tests.pages.site_map import HELP, LEADS_ON, OF_A_ROW, OPEN, OWN_HERD, address, pages


def test_every_page_of_the_site_map_is_walked():
    names = [pattern.name for pattern in pages()]
    assert None not in names, "a page without a name is walked by no test"
    assert len(names) == len(set(names)), "two pages of one name"
    assert set(names) == OPEN | HELP | OWN_HERD | LEADS_ON | OF_A_ROW


@pytest.mark.parametrize("name", sorted(HELP | OWN_HERD | OF_A_ROW))
def test_the_owner_sees_it(name, owner_client, rows):
    assert owner_client.get(address(name, rows)).status_code == 200


@pytest.mark.parametrize("name", sorted(OF_A_ROW))
@pytest.mark.parametrize("method", ["get", "post"])
def test_another_breeder_learns_nothing_of_it(name, method, client, other_herd, rows):
    client.force_login(other_herd[0])
    there = getattr(client, method)(address(name, rows))
    nowhere = getattr(client, method)(reverse(name, args=[uuid.uuid4()]))
    assert there.status_code == nowhere.status_code
    # A page that takes no form says so whatever it is about.
    assert there.status_code == 404 or (method == "post" and there.status_code == 405)


@pytest.mark.parametrize("name", sorted(OWN_HERD))
def test_another_breeder_finds_nothing_of_the_herd_in_lists(name, client, other_herd, rows):
    client.force_login(other_herd[0])
    response = client.get(reverse(name), {"state": "any", "words": ""})
    assert response.status_code == 200
    page = response.content.decode()
    for secret in ("Thornmoor", "Rook", "Bramble", "Wren", "Quillby", *map(str, rows.values())):
        assert secret not in page


@pytest.mark.parametrize("name", sorted(HELP | OWN_HERD | LEADS_ON | OF_A_ROW))
@pytest.mark.parametrize("method", ["get", "post"])
def test_one_who_is_not_signed_in_is_asked_to(name, method, client, rows):
    where = address(name, rows)
    response = getattr(client, method)(where)
    assert response.status_code in (302, 405)
    if response.status_code == 302:
        assert response["Location"] == f"{reverse('sign-in')}?next={where}"
    else:
        assert method == "post"
    assert "Rook" not in response.content.decode()


def test_another_herds_animal_cannot_be_chosen_as_a_parent(client, other_herd, cast, today):
    client.force_login(other_herd[0])
    sent = {
        "submission_key": uuid.uuid4().hex,
        "name": "Gull",
        "state": "paper",
        "sureness": "sure",
        "dam": cast.wren.label,
    }
    page = client.post(reverse("record-animal"), sent).content.decode()
    assert "No sow matches" in page
