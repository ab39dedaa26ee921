"""What your own records show: shown before it is used, and undone in one click."""

import html
import re
import uuid

import pytest
from django.urls import reverse

from genetics.calibration import parameter_fits
from genetics.models import Fit, FitUse, Job
from genetics.snapshot.parameters import current_parameters
from herdbook.book.models import Membership
from tests.factories import AnimalFactory, LookFactory


def text(response):
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


def see(client):
    return text(client.get(reverse("taught")))


def do(client, **sent):
    return client.post(reverse("taught"), sent, follow=True)


def put_back(client):
    """Tap what the page has for it."""
    page = client.get(reverse("taught")).content.decode()
    return do(client, do="back", seen=re.search(r'name="seen"\s+value="(\d+)"', page)[1])


@pytest.fixture(scope="module")
def fitted():
    """What the fit of `fit` came to, the same for each test: found once."""
    return []


@pytest.fixture
def fit(cast, today, fitted, monkeypatch):
    """A dozen grown selfs of unknown descent: the gene is rarer than common practice has it."""
    whole = parameter_fits.fit

    def once(*given, **values):
        if not fitted:
            fitted.append(whole(*given, **values))
        return fitted[0]

    monkeypatch.setattr(parameter_fits, "fit", once)
    for _ in range(12):
        LookFactory(
            animal=AnimalFactory(herd=cast.herd), on="2026-08-01", stage="none", warmth="mild"
        )
    return parameter_fits.fit_parameters(cast.owner)


def test_it_works(owner_client, fit, cast):
    page = see(owner_client)
    assert "Common practice (default)." in page
    share = round(100 * fit.frequency)
    error = f"{100 * fit.lines[0]['error']:.1f}%"
    assert f"Share of the points gene among founders 25% {share}% {error} 12 founders" in page
    assert share < 20
    assert "Clean marked: half show points by 42.0 days" in page
    first, last = fit.lines[2]["fitted"]
    learned = f"{first:.0f} to {last:.0f} days {fit.lines[2]['error']:.1f} days"
    assert f"Clean marked: two in three begin to show points at 28 to 63 days {learned}" in page
    moved = fit.effect["moved"]
    # Of Flint nothing at all is known.
    assert moved == 1
    most = round(100 * fit.effect["most"])
    says = f"The dose of 1 animal would change by more than 1 percentage point, by {most}"
    assert f"{says} at most ({cast.flint.label})." in page
    assert current_parameters().fit is None


def test_it_is_used_and_undone_in_one_click(owner_client, fit, cast):
    page = text(do(owner_client, do="use", fit=fit.public_id))
    assert current_parameters().fit == fit.pk
    assert "In use." in page
    assert "would change" not in page  # it was said against what was in force then
    assert "In use. Doses are being recalculated." in page
    assert "From the records of 25 November 2026" in page
    assert cast.owner.username in page

    page = text(put_back(owner_client))
    assert current_parameters().fit is None
    assert "Restored. Doses are being recalculated." in page
    assert [use.fit for use in FitUse.objects.all()] == [None, fit]
    assert {use.user for use in FitUse.objects.all()} == {cast.owner}


def test_a_second_tap_on_use_leaves_it_to_be_put_back(owner_client, fit):
    do(owner_client, do="use", fit=fit.public_id)
    assert "Nothing was changed." in text(do(owner_client, do="use", fit=fit.public_id))
    put_back(owner_client)
    assert current_parameters().fit is None


def test_a_second_tap_on_put_back_does_not_undo_the_first(owner_client, fit):
    do(owner_client, do="use", fit=fit.public_id)
    seen = FitUse.objects.get().pk
    for _ in range(2):
        do(owner_client, do="back", seen=seen)
    assert current_parameters().fit is None
    assert FitUse.objects.count() == 2


def test_work_is_a_job(owner_client, cast):
    page = do(owner_client, do="learn").content.decode()
    job = Job.objects.get(kind=parameter_fits.JOB)
    assert reverse("job", args=[job.public_id]) in page
    do(owner_client, do="learn")
    assert Job.objects.filter(kind=parameter_fits.JOB).count() == 1


@pytest.mark.django_db(transaction=True)
def test_the_job_keeps_what_it_found(transactional_db, owner_client, cast, monkeypatch):
    # At once and not beside the page: the tests' SQLite, in memory, knows no waiting for a lock.
    monkeypatch.setattr(parameter_fits.jobs.threading.Thread, "start", lambda thread: thread.run())
    monkeypatch.setattr(parameter_fits.jobs, "_renew", lambda *given: None)  # never ends inline
    do(owner_client, do="learn")
    job = Job.objects.get(kind=parameter_fits.JOB)
    assert (job.state, Fit.objects.count()) == (Job.State.DONE, 1)
    assert "Use it for every dose" in see(owner_client)


def test_a_pedigree_that_contradicts_itself_is_to_be_put_right_first(owner_client, cast):
    cast.wren.litter.dam = cast.sorrel
    cast.wren.litter.save()
    page = see(owner_client)
    assert "an animal is its own ancestor" in page
    assert "Work it out" not in page


def test_an_old_one_says_so(owner_client, fit):
    Fit.objects.update(revision=fit.revision + 1)
    assert "Work it out again before you use it" in see(owner_client)


def test_one_of_an_older_engine_says_so(owner_client, fit):
    assert "by an older method" not in see(owner_client)
    Fit.objects.update(engine="1-00000000")
    assert "It was worked out by an older method or from other tables." in see(owner_client)


def test_one_that_did_not_settle_says_so(owner_client, fit):
    Fit.objects.update(settled=False)
    assert "The calculation did not settle" in see(owner_client)


def test_an_error_that_cannot_be_said_is_not_made_up(owner_client, fit):
    fit.lines[0]["error"] = None
    fit.save()
    assert "not known" in see(owner_client)


def test_one_from_before_spreads_were_learned_is_shown(owner_client, fit):
    fit.lines = [line for line in fit.lines if line.pop("measure", "") != "spread"]
    fit.spreads = []
    fit.save()
    page = see(owner_client)
    assert "Clean marked: half show points by 42.0 days" in page
    assert "two in three" not in page
    do(owner_client, do="use", fit=fit.public_id)
    assert current_parameters().fit == fit.pk


def test_it_refuses_one_who_owns_no_herd(client, fit, cast, django_user_model):
    guest = django_user_model.objects.create(username="guest")
    membership = Membership.objects.create(user=guest, herd=cast.herd)
    Membership.objects.filter(pk=membership.pk).update(role="reader")
    client.force_login(guest)
    page = see(client)
    assert "Only the owner of a herd can change it." in page
    assert "Use it for every dose" not in page
    assert do(client, do="use", fit=fit.public_id).status_code == 403
    assert not FitUse.objects.exists()


def test_it_refuses_a_fit_that_is_not_there(owner_client, fit):
    assert do(owner_client, do="use", fit=uuid.uuid4()).status_code == 404
    assert do(owner_client, do="use", fit="nonsense").status_code == 404
    assert not FitUse.objects.exists()


def test_there_is_nothing_to_put_back_at_first(owner_client, fit):
    do(owner_client, do="back", seen="1")
    do(owner_client, do="back")
    assert not FitUse.objects.exists()


def test_another_breeder_is_not_told_which_animal(client, other_herd, fit, cast):
    client.force_login(other_herd[0])
    page = see(client)
    assert "would change" in page
    assert "Thornmoor" not in page
