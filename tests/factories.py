"""Rows for tests, made straight in the tables (the desk has its own tests)."""

import factory

from herdbook.book.models import (
    Animal,
    CandidateSire,
    Herd,
    Judgement,
    Litter,
    Look,
    Membership,
    User,
    Weighing,
)
from herdbook.book.partial_date import PartialDate
from herdbook.book.search import fold


class UserFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"keeper{n}")


class HerdFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Herd

    name = factory.Sequence(lambda n: f"Herd {n}")
    stud_prefix = "Thornmoor"
    keeper = "Ansel Quillby"


class MembershipFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Membership

    user = factory.SubFactory(UserFactory)
    herd = factory.SubFactory(HerdFactory)


class LitterFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Litter
        skip_postgeneration_save = True

    herd = factory.SubFactory(HerdFactory)
    born = PartialDate(2025, 3, 1)

    @factory.post_generation
    def boars(self, create, boars, **kwargs):
        for boar in boars or ():
            CandidateSire.objects.create(herd=self.herd, litter=self, boar=boar)


class AnimalFactory(factory.django.DjangoModelFactory):
    """An animal of a herd; without ``litter`` it has one of its own and no known parent."""

    class Meta:
        model = Animal

    herd = factory.SubFactory(HerdFactory)
    litter = factory.SubFactory(LitterFactory, herd=factory.SelfAttribute("..herd"), source="paper")
    stud_prefix = "Thornmoor"
    name = factory.Sequence(lambda n: f"Animal {n}")
    number = factory.Sequence(lambda n: str(1000 + n))
    coat = "white"
    search_text = factory.LazyAttribute(
        lambda animal: fold(animal.stud_prefix, animal.name, animal.number, animal.tag)
    )
    tag = ""


class WeighingFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Weighing

    herd = factory.SelfAttribute("animal.herd")


class JudgementFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Judgement

    herd = factory.SelfAttribute("animal.herd")


class LookFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Look

    herd = factory.SelfAttribute("animal.herd")
