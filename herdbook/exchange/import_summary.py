"""What taking a file in would do, in sentences that the page and the command share."""

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book.models.animal import Coat, State
from herdbook.exchange.plan import Choices, Plan


def outline(plan: Plan, choices: Choices) -> list[str]:
    """What the file holds and what the book would make of it, a sentence or two each."""
    lines = [
        _held(plan),
        _places(plan, choices),
        *_of_coats(plan, choices),
        *_of_evidence(plan),
    ]
    return [line for line in lines if line]


def _held(plan: Plan) -> str:
    """What there is of each kind; what there is none of is left out."""
    animals, founders, litters = len(plan.animals), plan.founders, plan.families
    looks, given = len(plan.looks), len(plan.evidence)
    parts = [
        (animals, ngettext("%(n)d animal", "%(n)d animals", animals)),
        (founders, ngettext("%(n)d founder", "%(n)d founders", founders)),
        (litters, ngettext("%(n)d litter", "%(n)d litters", litters)),
        (looks, ngettext("%(n)d look", "%(n)d looks", looks)),
        (given, ngettext("%(n)d given likelihood", "%(n)d given likelihoods", given)),
    ]
    return ", ".join(words % {"n": count} for count, words in parts if count) + "."


def _places(plan: Plan, choices: Choices) -> str:
    here, paper = plan.in_state(State.IN_HERD), plan.in_state(State.PAPER)
    if choices.since is not None and choices.state == State.IN_HERD:
        return _(
            "%(here)d born since %(day)s will stand as in the herd; %(paper)d older or without a "
            "day of birth as known from paper."
        ) % {"here": here, "paper": paper, "day": date_format(choices.since, "j F Y")}
    if here:
        return _(
            "All will stand as in the herd. Those that are sold or dead have to be moved one by "
            "one; a first day of birth leaves older ones as known from paper."
        )
    return _("All will stand as known from paper, none in the herd.")


def _of_coats(plan: Plan, choices: Choices) -> list[str]:
    lines = []
    if plan.coats_chosen:
        lines.append(
            ngettext(
                "%(n)d animal has points but no body colour: it will be written as %(coat)s.",
                "%(n)d animals have points but no body colour: they will be written as %(coat)s.",
                plan.coats_chosen,
            )
            % {"n": plan.coats_chosen, "coat": Coat(choices.coat).label}
        )
    if plan.without_coat:
        lines.append(
            ngettext(
                "%(n)d animal has no body colour. A later look at its points will not count until "
                "it has one: fill in 'coat' first.",
                "%(n)d animals have no body colour. Later looks at their points will not count "
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
            "%(n)d look is left out, since like0 to like2 of its row hold it already.",
            "%(n)d looks are left out, since like0 to like2 of their rows hold them already.",
            plan.looks_within,
        )
        % {"n": plan.looks_within}
    ]
