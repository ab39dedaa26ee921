"""The summary of an import, in sentences that the page and the command share."""

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book.models.animal import Coat, State
from herdbook.exchange.plan import Choices, Plan


def outline(plan: Plan, choices: Choices) -> list[str]:
    """The content of the file and what the import would record, a sentence or two each."""
    lines = [
        _held(plan),
        _places(plan, choices),
        *_of_coats(plan, choices),
        *_of_evidence(plan),
    ]
    return [line for line in lines if line]


def _held(plan: Plan) -> str:
    """The number of each kind; kinds without any are left out."""
    animals, founders, litters = len(plan.animals), plan.founders, plan.families
    looks, given = len(plan.looks), len(plan.evidence)
    parts = [
        (animals, ngettext("%(n)d animal", "%(n)d animals", animals)),
        (founders, ngettext("%(n)d founder", "%(n)d founders", founders)),
        (litters, ngettext("%(n)d litter", "%(n)d litters", litters)),
        (looks, ngettext("%(n)d check", "%(n)d checks", looks)),
        (given, ngettext("%(n)d given likelihood", "%(n)d given likelihoods", given)),
    ]
    return ", ".join(words % {"n": count} for count, words in parts if count) + "."


def _places(plan: Plan, choices: Choices) -> str:
    here, paper = plan.in_state(State.IN_HERD), plan.in_state(State.PAPER)
    if choices.since is not None and choices.state == State.IN_HERD:
        return _(
            "%(here)d born on or after %(day)s will be in the herd; %(paper)d that are older or "
            "have no date of birth will be pedigree only."
        ) % {"here": here, "paper": paper, "day": date_format(choices.since, "j F Y")}
    if here:
        return _(
            "All will be in the herd. Record those that were sold or died one by one afterwards, "
            "or give a first date of birth, and older ones will be pedigree only."
        )
    return _("All will be pedigree only, none in the herd.")


def _of_coats(plan: Plan, choices: Choices) -> list[str]:
    lines = []
    if plan.coats_chosen:
        lines.append(
            ngettext(
                "%(n)d animal has points but no body colour: it will be recorded as %(coat)s.",
                "%(n)d animals have points but no body colour: they will be recorded as %(coat)s.",
                plan.coats_chosen,
            )
            % {"n": plan.coats_chosen, "coat": Coat(choices.coat).label}
        )
    if plan.without_coat:
        lines.append(
            ngettext(
                "%(n)d animal has no body colour. Later checks of its points will not count until "
                "it has one: fill in 'coat' first.",
                "%(n)d animals have no body colour. Later checks of their points will not count "
                "until they have one: fill in 'coat' first.",
                plan.without_coat,
            )
            % {"n": plan.without_coat}
        )
    return lines


def _of_evidence(plan: Plan) -> list[str]:
    if not plan.looks_within:
        return []
    return [
        ngettext(
            "%(n)d check is left out, because like0 to like2 in its row already include it.",
            "%(n)d checks are left out, because like0 to like2 in their rows already include them.",
            plan.looks_within,
        )
        % {"n": plan.looks_within}
    ]
