"""Every page of the site by its name, and how it is reached, for the tests that walk the site."""

from dataclasses import asdict
from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.urls import URLPattern, get_resolver, reverse

from genetics.herd.projection import ProjectionRequest
from genetics.models import Job, LookAhead, SeasonPlan
from genetics.season.request import Wishes
from herdbook.book.models import LitterCount, Photo
from tests.factories import JudgementFactory, LookFactory, WeighingFactory

# Who sees the page does not depend on whose herd it shows.
OPEN = {"sign-in", "sign-out"}
# The same for everybody who is signed in.
HELP = {"help", "glossary", "search-help", "help-page"}
# Each shows the herd of whoever asks.
OWN_HERD = {
    "home",
    "herd",
    "limits",
    "animals",
    "suggest-animals",
    "record-animal",
    "take-in",
    "litters",
    "record-litter",
    "doubts",
    "came-true",
    "as-expected",
    "taught",
    "mating",
    "lines",
    "ahead",
    "season",
    "mating-grid",
    "ranking-weights",
}
# Leads on to the list of animals, or to the one that was found.
LEADS_ON = {"find-animal"}
# Each is about one row: another breeder must not learn that there is one.
OF_AN_ANIMAL = {
    "animal",
    "correct-animal",
    "move-animal",
    "animal-reasons",
    "animal-changes",
    "animal-sheet",
    "animal-sheet-pdf",
    "record-weighing",
    "record-look",
    "record-judgement",
}
OF_A_LITTER = {
    "litter",
    "correct-litter",
    "add-pups",
    "weigh-litter",
    "look-at-litter",
    "exchange-records",
    "count-litter",
}
OF_A_WEIGHING = {"correct-weighing", "remove-weighing"}
OF_A_COUNT = {"correct-count", "remove-count"}
OF_A_JUDGEMENT = {"correct-judgement", "remove-judgement"}
OF_A_LOOK = {"correct-look", "remove-look"}
OF_A_PHOTO = {"photo"}
OF_A_JOB = {"job"}
OF_A_LOOK_AHEAD = {"look-ahead"}
OF_A_PLAN = {"season-plan"}
OF_A_ROW = (
    OF_AN_ANIMAL
    | OF_A_LITTER
    | OF_A_WEIGHING
    | OF_A_COUNT
    | OF_A_LOOK
    | OF_A_JUDGEMENT
    | OF_A_PHOTO
    | OF_A_JOB
    | OF_A_LOOK_AHEAD
    | OF_A_PLAN
)


def pages(patterns=None):
    """Every named page of the site map, however deep it is nested."""
    for pattern in patterns if patterns is not None else get_resolver().url_patterns:
        if isinstance(pattern, URLPattern):
            yield pattern
        else:
            yield from pages(pattern.url_patterns)


@pytest.fixture
def rows(cast, today):
    """One row of each kind, all of the cast's herd, by the public id that addresses show."""
    weighing = WeighingFactory(animal=cast.rook, on=today, weight_g=900)
    look = LookFactory(animal=cast.rook, on=today, stage="full")
    count = LitterCount.objects.create(
        herd=cast.herd, litter=cast.march_litter, on=today, none=1, coming=1
    )
    judgement = JudgementFactory(animal=cast.rook, on=today, verdict="pet")
    photo = Photo(herd=cast.herd)
    photo.image = ContentFile(SMALL_GIF, name=f"{photo.public_id}.jpg")
    photo.save()
    ahead = LookAhead.objects.create(herd=cast.herd, revision=1, asked=asdict(ASKED))
    together = {"boar_in": today, "boar_out": today + timedelta(days=17)}
    wishes = Wishes(**together, pens=3, sows_a_boar=3, held=((cast.wren.pk, cast.bramble.pk),))
    plan = SeasonPlan.objects.create(herd=cast.herd, asked=wishes.as_data())
    yield {
        **dict.fromkeys(OF_AN_ANIMAL, cast.rook.public_id),
        **dict.fromkeys(OF_A_LITTER, cast.march_litter.public_id),
        **dict.fromkeys(OF_A_WEIGHING, weighing.public_id),
        **dict.fromkeys(OF_A_COUNT, count.public_id),
        **dict.fromkeys(OF_A_LOOK, look.public_id),
        **dict.fromkeys(OF_A_JUDGEMENT, judgement.public_id),
        **dict.fromkeys(OF_A_PHOTO, photo.public_id),
        **dict.fromkeys(OF_A_JOB, Job.objects.create(kind="count", user=cast.owner).public_id),
        **dict.fromkeys(OF_A_LOOK_AHEAD, ahead.public_id),
        **dict.fromkeys(OF_A_PLAN, plan.public_id),
    }
    photo.image.delete(save=False)


ASKED = ProjectionRequest(("least-kin",), 5, 1, 1, 0, 0, 0.27)
SMALL_GIF = (
    b"GIF89a\x01\x00\x01\x00\x80\x00\x00\x00\x00\x00\xff\xff\xff!\xf9\x04\x01\x00\x00\x00\x00,"
    b"\x00\x00\x00\x00\x01\x00\x01\x00\x00\x02\x02D\x01\x00;"
)


def address(name, rows):
    if name == "help-page":
        return reverse(name, args=["using/first-litter"])
    return reverse(name, args=[rows[name]] if name in OF_A_ROW else [])
