"""Records to check: those that are impossible, and those that are doubtful."""

from dataclasses import dataclass

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from genetics.record_errors.results import (
    Doubts,
    TakenForEachOther,
    WrongColour,
    WrongLook,
    WrongLooks,
    WrongParent,
)
from genetics.record_errors.screening import WORTH_A_LOOK, doubts_of
from herdbook.book.models.animal import Sex

from ..common.access import herd_of
from ..common.formatting import age_on, chance
from .contradictions import cannot_be, colour_written, spoken_against

MOST = 40
# Who may be the parent instead is named from this chance on, and no more than so many.
NAMED_FROM = 0.01
MOST_NAMED = 4


@dataclass(frozen=True)
class DoubtLine:
    """One record, what it says, how likely it is wrong, and where to correct it."""

    chance: str
    of: str
    address: str
    says: str
    correct: str
    #: Who of the herd the parent may be instead, with chances; empty where that is not said.
    instead: str = ""
    #: Which relatives it does not fit, and what they are.
    against: str = ""


@require_safe
@login_required
def list_doubts(request: HttpRequest) -> HttpResponse:
    """The doubtful records of a herd, weighed by the whole book."""
    herd = herd_of(request)
    found, job = doubts_of(herd)
    if found is None:
        return render(request, "doubts.html", {"herd": herd, "job": job})
    lines = doubt_lines(found)
    context = {
        "herd": herd,
        "found": found,
        "lines": lines[:MOST],
        "more": max(len(lines) - MOST, 0),
        "cannot_be": [(misfit, cannot_be(misfit)) for misfit in found.misfits],
        "worth": chance(WORTH_A_LOOK),
    }
    return render(request, "doubts.html", context)


def doubt_lines(found: Doubts) -> list[DoubtLine]:
    """Sires, dams, looks, mix-ups and colours together, the most doubtful first."""
    rows = [(doubt.chance, _sire_line(doubt)) for doubt in found.sires]
    rows += [(doubt.chance, _dam_line(doubt)) for doubt in found.dams]
    rows += [(doubt.chance, _look_line(doubt)) for doubt in found.looks]
    rows += [(doubt.chance, _all_looks_line(doubt)) for doubt in found.all_looks]
    rows += [(doubt.chance, _mix_up_line(doubt)) for doubt in found.mix_ups]
    rows += [(doubt.chance, _colour_line(doubt)) for doubt in found.colours]
    return [line for _chance, line in sorted(rows, key=lambda row: -row[0])]


def _sire_line(doubt: WrongParent) -> DoubtLine:
    boars = _(" or ").join(str(boar) for boar in doubt.litter.candidate_boars)
    says = _("The sire is a boar other than %(boars)s") % {"boars": boars}
    return _parent_line(doubt, says, _("a boar from outside the herd"))


def _dam_line(doubt: WrongParent) -> DoubtLine:
    dam = doubt.litter.dam
    assert dam is not None, "only a dam on record is in doubt"
    says = _("The dam is a sow other than %(sow)s") % {"sow": dam.full_name}
    return _parent_line(doubt, says, _("a sow not considered here"))


def _parent_line(doubt: WrongParent, says: str, elsewhere: str) -> DoubtLine:
    litter = doubt.litter
    return DoubtLine(
        chance(doubt.chance),
        str(litter),
        litter.get_absolute_url(),
        says,
        reverse("correct-litter", args=[litter.public_id]),
        _who_instead(doubt, elsewhere),
    )


def _who_instead(doubt: WrongParent, elsewhere: str) -> str:
    """'Tansy 40%, a boar from outside the herd 12%': who it may be, as chances of the whole."""
    if doubt.others is None:
        return ""
    shares = [(animal.full_name, share) for animal, share in doubt.others]
    if elsewhere:
        shares.append((elsewhere, doubt.chance - sum(share for _name, share in shares)))
    shares.sort(key=lambda one: -one[1])
    likely = [f"{name} {chance(share)}" for name, share in shares if share >= NAMED_FROM]
    return ", ".join(likely[:MOST_NAMED])


def _look_line(doubt: WrongLook) -> DoubtLine:
    look, animal = doubt.look, doubt.look.animal
    words = {
        "stage": look.get_stage_display(),
        "day": f"{look.on.day} {look.on:%B %Y}",
        "age": age_on(animal, look.on) or "?",
    }
    return DoubtLine(
        chance(doubt.chance),
        animal.label,
        animal.get_absolute_url(),
        _("The check of %(day)s (points: %(stage)s, at %(age)s) is wrong") % words,
        reverse("correct-look", args=[look.public_id]),
    )


def _all_looks_line(doubt: WrongLooks) -> DoubtLine:
    says: dict[str, str] = {
        Sex.SOW: _("All her %(n)d checks were of a different animal"),
        Sex.BOAR: _("All his %(n)d checks were of a different animal"),
    }
    whose = says.get(doubt.animal.sex, _("All its %(n)d checks were of a different animal"))
    address = doubt.animal.get_absolute_url()
    return DoubtLine(
        chance(doubt.chance), doubt.animal.label, address, whose % {"n": doubt.looks}, address
    )


def _mix_up_line(doubt: TakenForEachOther) -> DoubtLine:
    litter = doubt.first.litter
    words = {"first": doubt.first.label, "second": doubt.second.label}
    return DoubtLine(
        chance(doubt.chance),
        str(litter),
        litter.get_absolute_url(),
        _("%(first)s and %(second)s were swapped") % words,
        reverse("exchange-records", args=[litter.public_id]),
    )


def _colour_line(doubt: WrongColour) -> DoubtLine:
    animal = doubt.animal
    says = {
        "chocolate": _("The recorded colour of points or body, %(written)s, is wrong"),
        "pink eye": _("The recorded eye colour, %(written)s, is wrong"),
    }
    body = {"extension", "albino"}
    coat = (
        _("The recorded body colour, %(written)s, is wrong")
        if doubt.gene in body
        else _("The recorded coat, %(written)s, is wrong")
    )
    return DoubtLine(
        chance(doubt.chance),
        animal.label,
        animal.get_absolute_url(),
        says.get(doubt.gene, coat) % {"written": colour_written(animal, doubt.gene)},
        reverse("correct-animal", args=[animal.public_id]),
        against=spoken_against(doubt),
    )


urls = [path("doubts/", list_doubts, name="doubts")]
