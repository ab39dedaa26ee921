"""The page of a new litter, as a browser without a script sends it."""

import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from herdbook.book.models import Animal, Answer, ChangeSet, Litter
from herdbook.book.rules.audit import examine
from tests.book.test_keep_photo import photo_file
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory

pytestmark = pytest.mark.usefixtures("today")
PAGE = "/litters/new/"


def form(cast, *pups, **values):
    """What a browser sends: a litter of Wren by Bramble, born five days ago."""
    sent = {
        "submission_key": uuid.uuid4().hex,
        "dam": "Thornmoor Wren (2)",
        "boars": [str(cast.bramble.public_id)],
        "born": "2026-11-20",
        "born_alive": "",
        "born_dead": "",
        "pups-TOTAL_FORMS": str(max(len(pups), 4)),
        "pups-INITIAL_FORMS": "4",
        **values,
    }
    for place, pup in enumerate(pups):
        sent |= {f"pups-{place}-{name}": value for name, value in pup.items()}
    return sent


PUPS = (
    {"sex": "boar", "coat": "white", "birth_weight_g": "98"},
    {"sex": "sow", "coat": "white", "birth_weight_g": "95", "told_apart": "markings"},
)


def words(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def test_it_works(owner_client, cast):
    response = owner_client.post(PAGE, form(cast, *PUPS), follow=True)
    litter = Litter.objects.latest("pk")
    assert response.redirect_chain == [(reverse("litter", args=[litter.public_id]), 302)]
    assert (litter.dam, litter.candidate_boars, str(litter.born)) == (
        cast.wren,
        [cast.bramble],
        "2026-11-20",
    )
    pups = [(pup.number, pup.sex, pup.birth_weight_g) for pup in litter.pups.order_by("pk")]
    assert pups == [("7", "boar", 98), ("8", "sow", 95)]
    assert "Saved: a litter of 2 pups" in words(response)
    assert "No. 7" in words(response)


def test_a_saved_page_gone_back_to_and_changed_leads_to_its_litter(owner_client, cast):
    sent = form(cast, *PUPS)
    owner_client.post(PAGE, sent)
    written = Litter.objects.latest("pk")
    response = owner_client.post(PAGE, sent | {"remarks": "one is small"})
    assert "already has a litter of 20 November 2026. Is this another" in words(response)
    assert "0 days away" not in words(response)
    address = reverse("correct-litter", args=[written.public_id])
    assert f'<a href="{address}">Correct that litter</a>' in response.content.decode()
    code = f"litters-close:{written.pk}"
    again = sent | {"remarks": "another one", "answered": code}
    assert owner_client.post(PAGE, again).status_code == 302
    assert Answer.objects.get().question.endswith(
        "already has a litter of 20 November 2026. Is this another one?"
    )
    asked = [found.finding.code for found in examine(Animal.objects.all(), today=TODAY)]
    assert not [code for code in asked if code.startswith("litters-close")], "answered once"


def test_a_litter_some_days_away_is_asked_about_with_a_way_to_it(owner_client, cast):
    written = LitterFactory(herd=cast.herd, dam=cast.wren, born="2026-11-01", source="home")
    response = owner_client.post(PAGE, form(cast, *PUPS))
    assert "has a litter of 1 November 2026, 19 days away" in words(response)
    assert reverse("correct-litter", args=[written.public_id]) in response.content.decode()


def test_a_litter_from_paper_is_led_to_where_it_stands(owner_client, cast):
    written = LitterFactory(herd=cast.herd, dam=cast.wren, born="2026-11-20", source="paper")
    page = owner_client.post(PAGE, form(cast, *PUPS)).content.decode()
    assert f'<a href="{written.get_absolute_url()}">See that litter</a>' in page


def test_the_page_offers_the_dam_today_and_the_next_numbers(owner_client, cast):
    response = owner_client.get(PAGE, {"dam": cast.wren.public_id})
    shown = response.context["form"]
    assert shown["dam"].value() == cast.wren.label
    assert 'value="Thornmoor Wren (2)"' in response.content.decode()
    assert 'value="2026-11-25"' in response.content.decode()
    assert [number for _line, number in shown.lines] == ["7", "8", "9", "10"]
    assert {line["coat"].value() for line in shown.pups} == {"white"}, "as her last pup"


def test_boars_that_were_there_are_offered_likeliest_first(owner_client, cast):
    older = AnimalFactory(
        herd=cast.herd, name="Alder", sex="boar", litter__born="2023-01-01", number="20"
    )
    AnimalFactory(herd=cast.herd, name="Suckling", sex="boar", litter__born="2026-09-10")
    AnimalFactory(
        herd=cast.herd,
        name="Gone",
        sex="boar",
        litter__born="2023",
        state="sold",
        left_on="2026-01-01",
    )
    response = owner_client.get(PAGE, {"dam": cast.wren.public_id})
    labels = [box.choice_label for box in response.context["form"]["boars"]]
    assert labels == [cast.bramble.label, older.label, cast.rook.label]


def test_boars_of_the_dams_own_litters_come_before_those_used_later(owner_client, cast):
    LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[cast.rook], born="2026-11-01")
    offered = owner_client.get(PAGE).context["form"]["boars"]
    assert [box.choice_label for box in offered][0] == cast.rook.label
    offered = owner_client.get(PAGE, {"dam": cast.wren.public_id}).context["form"]["boars"]
    assert [box.choice_label for box in offered][0] == cast.bramble.label


def test_several_boars_and_one_typed(owner_client, cast):
    sent = form(cast, *PUPS, other_boar="flint")
    sent["boars"] = [str(cast.bramble.public_id), str(cast.rook.public_id)]
    owner_client.post(PAGE, sent)
    litter = Litter.objects.latest("pk")
    assert set(litter.candidate_boars) == {cast.bramble, cast.rook, cast.flint}


def test_a_boar_typed_that_is_ticked_as_well_counts_once(owner_client, cast):
    owner_client.post(PAGE, form(cast, *PUPS, other_boar="Bramble"))
    assert Litter.objects.latest("pk").candidate_boars == [cast.bramble]


def test_blank_lines_are_pups_up_to_the_count_alive(owner_client, cast):
    owner_client.post(PAGE, form(cast, PUPS[0], born_alive="3", born_dead="1"))
    litter = Litter.objects.latest("pk")
    assert (litter.born_alive, litter.born_dead, litter.pups.count()) == (3, 1, 3)
    assert [pup.sex for pup in litter.pups.order_by("pk")] == ["boar", "", ""]


def test_a_line_after_a_blank_one_is_not_lost(owner_client, cast):
    owner_client.post(PAGE, form(cast, {}, {}, {"sex": "sow"}, born_alive="1"))
    assert [pup.sex for pup in Litter.objects.latest("pk").pups.all()] == ["sow"]


def test_pups_without_lines_are_asked_about_and_may_stay_unwritten(owner_client, cast):
    sent = form(cast, *PUPS, born_alive="6")
    response = owner_client.post(PAGE, sent)
    (question,) = response.context["form"].questions
    assert "You counted 2 more pups than you listed" in question.message
    owner_client.post(PAGE, {**sent, "answered": [question.code]})
    litter = Litter.objects.latest("pk")
    assert (litter.born_alive, litter.pups.count()) == (6, 2)


def test_a_refusal_stands_at_its_field_and_the_form_stays_filled(owner_client, cast):
    litters = Litter.objects.count()
    response = owner_client.post(
        PAGE,
        form(cast, *PUPS, dam="Rook", boar_in="1.9.2026", remarks="born at night"),
    )
    assert Litter.objects.count() == litters
    shown = response.context["form"]
    assert "is a boar: choose a sow" in shown.errors["dam"][0]
    page = response.content.decode()
    for typed in ('value="Rook"', 'value="1.9.2026"', "born at night", 'value="98"', 'value="95"'):
        assert typed in page
    assert [line["sex"].value() for line in shown.pups][:2] == ["boar", "sow"]
    assert [box.data["selected"] for box in shown["boars"]][0]


def test_a_refusal_at_a_pup_stands_at_its_line(owner_client, cast):
    response = owner_client.post(PAGE, form(cast, PUPS[0], {"number": cast.rook.number}))
    lines = response.context["form"].pups.forms
    assert "belongs to another animal" in lines[1].errors["number"][0]
    assert not lines[0].errors
    assert "Please fix the pups marked below" in words(response)


@pytest.mark.parametrize(
    ("field", "value"),
    [("birth_weight_g", "ten"), ("birth_weight_g", "-3"), ("coat", "tartan"), ("sex", "x")],
)
def test_nonsense_at_a_pup_is_refused_in_words(owner_client, cast, field, value):
    response = owner_client.post(PAGE, form(cast, {**PUPS[0], field: value}))
    assert response.status_code == 200
    assert response.context["form"].pups.forms[0].errors[field]
    assert Litter.objects.count() == 4 + 1


@pytest.mark.parametrize(
    "change",
    [
        {"pups-TOTAL_FORMS": "many"},
        {"pups-TOTAL_FORMS": "100000"},
        {"boars": ["not-an-id"]},
        {"boars": [str(uuid.uuid4())]},
        {"version": "x"},
        {"born": "yesterday"},
        {"born_alive": "lots"},
        {"submission_key": ""},
        {"dam": "nobody at all"},
        {"dam": "Thornmoor"},
        {"dam": "\x00"},
        {"remarks": "x" * 3000},
    ],
)
def test_a_spoilt_form_comes_back_with_words(owner_client, cast, change):
    litters = Litter.objects.count()
    response = owner_client.post(PAGE, {**form(cast, *PUPS), **change})
    assert response.status_code == 200
    assert response.context["form"].errors
    assert Litter.objects.count() == litters


def test_a_question_is_asked_with_a_box_and_taken_once_it_is_ticked(owner_client, cast):
    sent = form(cast, {**PUPS[0], "birth_weight_g": "400"})
    response = owner_client.post(PAGE, sent)
    (question,) = response.context["form"].questions
    assert f'name="answered" value="{question.code}"' in response.content.decode()
    assert not Animal.objects.filter(birth_weight_g=400).exists()
    response = owner_client.post(PAGE, {**sent, "answered": [question.code]})
    assert response.status_code == 302
    assert Animal.objects.filter(birth_weight_g=400).exists()


def test_a_form_sent_twice_is_written_once(owner_client, cast):
    sent = form(cast, *PUPS)
    first, second = (owner_client.post(PAGE, sent) for _ in range(2))
    assert first.status_code == second.status_code == 302
    assert first["Location"] == second["Location"]
    assert Animal.objects.filter(litter=Litter.objects.latest("pk")).count() == 2
    assert ChangeSet.objects.count() == 1


def test_a_form_changed_after_it_was_saved_is_not_dropped_in_silence(owner_client, cast):
    """Back in the browser, something changed, saved again: that is no double tap."""
    sent = form(cast, *PUPS)
    owner_client.post(PAGE, sent)
    response = owner_client.post(PAGE, {**sent, "born_dead": "1"})
    assert response.status_code == 200
    codes = [question.code.split(":")[0] for question in response.context["form"].questions]
    assert codes == ["litters-close"]


@pytest.mark.parametrize("count", ["9" * 5000, "-1", "²", ""])
def test_more_lines_are_asked_for_with_a_count_that_is_none(count, owner_client, cast):
    sent = form(cast, *PUPS, more="1") | {"pups-TOTAL_FORMS": count}
    response = owner_client.post(PAGE, sent)
    assert response.status_code == 200
    assert response.context["form"].pups.total_form_count() == 4


def test_more_lines_bring_the_form_back_as_typed(owner_client, cast):
    sent = form(cast, *PUPS, more="1", born="not yet judged", remarks="so far")
    response = owner_client.post(PAGE, sent)
    shown = response.context["form"]
    assert len(shown.pups.forms) == 8
    assert not shown.errors
    assert not shown.questions
    page = response.content.decode()
    for typed in ("Thornmoor Wren (2)", "not yet judged", "so far", 'value="98"'):
        assert typed in page
    assert shown["submission_key"].value() == sent["submission_key"]
    assert [box.data["selected"] for box in shown["boars"]][0]
    assert [line["sex"].value() for line in shown.pups][:3] == ["boar", "sow", None]


def test_a_photo_is_kept_while_the_form_is_put_right(owner_client, cast):
    sent = form(cast, {**PUPS[0], "birth_weight_g": "400"})
    sent["pups-0-photo"] = SimpleUploadedFile("pup.jpg", photo_file().read())
    response = owner_client.post(PAGE, sent)
    del sent["pups-0-photo"]
    line = response.context["form"].pups.forms[0]
    sent["pups-0-kept_photo"] = line["kept_photo"].value()
    sent["answered"] = [question.code for question in response.context["form"].questions]
    owner_client.post(PAGE, sent)
    pup = Animal.objects.get(birth_weight_g=400)
    assert (pup.photo.width, pup.photo.height) == (40, 80)


def test_each_pup_says_how_it_is_told_apart(owner_client, cast):
    pup = {"sex": "sow", "told_apart": "tag", "told_apart_note": "left ear", "sureness": "unsure"}
    owner_client.post(PAGE, form(cast, pup))
    written = Animal.objects.latest("pk")
    assert (written.told_apart, written.told_apart_note, written.sureness) == (
        "tag",
        "left ear",
        "unsure",
    )


def test_another_herds_dam_is_not_found(owner_client, cast, other_herd):
    theirs = AnimalFactory(herd=other_herd[1], sex="sow", name="Theirs")
    assert owner_client.get(PAGE, {"dam": theirs.public_id}).status_code == 404
    assert owner_client.get(PAGE, {"dam": "nonsense"}).status_code == 404
    response = owner_client.post(PAGE, form(cast, *PUPS, dam="Theirs"))
    assert response.context["form"].errors["dam"]


def test_another_herds_boar_is_refused(owner_client, cast, other_herd):
    theirs = AnimalFactory(herd=other_herd[1], sex="boar")
    response = owner_client.post(PAGE, {**form(cast, *PUPS), "boars": [str(theirs.public_id)]})
    assert response.context["form"].errors["boars"]


def test_signed_out_it_leads_to_the_sign_in(client, cast):
    assert client.get(PAGE).status_code == 302
    assert client.post(PAGE, form(cast, *PUPS)).status_code == 302
    assert Litter.objects.count() == 4 + 1


def test_the_page_takes_few_queries_however_many_animals(
    owner_client, cast, django_assert_max_num_queries
):
    for place in range(30):
        AnimalFactory(herd=cast.herd, sex="boar", litter__born="2024", name=f"Boar {place}")
    with django_assert_max_num_queries(14):
        owner_client.get(PAGE, {"dam": cast.wren.public_id})
