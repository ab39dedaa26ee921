"""The search box of the bar."""

import pytest
from django.urls import reverse

FIND = reverse("find-animal")


def test_it_works(owner_client, cast, today):
    response = owner_client.get(FIND, {"words": "wren"})
    assert response["Location"] == cast.wren.get_absolute_url()


def test_it_lists_all_that_fit(owner_client, cast, today):
    response = owner_client.get(FIND, {"words": "thornmoor"})
    assert response["Location"] == f"{reverse('animals')}?words=thornmoor&state=any"
    page = owner_client.get(response["Location"]).content.decode()
    assert "Wren" in page
    assert "Rook" in page


@pytest.mark.parametrize("words", ["", " ", "nobody of that name", "\0"])
def test_without_a_match_it_leads_to_the_list(words, owner_client, today):
    response = owner_client.get(FIND, {"words": words})
    assert response["Location"].startswith(reverse("animals"))
    assert owner_client.get(response["Location"]).status_code == 200


def test_another_herds_animal_is_not_found(client, other_herd, cast, today):
    client.force_login(other_herd[0])
    response = client.get(FIND, {"words": cast.wren.name})
    assert response["Location"].startswith(reverse("animals"))
