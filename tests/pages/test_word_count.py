"""No page shows more prose than can be read at a glance before anything on it is opened.

The demo herd is the measure. To add a page: its name and address in `addresses`, and a bound of its
own in `BOUNDS` where it may have more than `MOST`.
"""

import pytest
from django.db.models import Count
from django.urls import reverse

from genetics.figures.refresh import compute_figures
from herdbook.book.models import Animal, Herd, Judgement, Litter, LitterCount, Look, Weighing
from herdbook.book.services.opening import open_book
from herdbook.exchange.demo import load_demo
from tests.pages.visible_words import visible_prose

MOST = 250
BOUNDS: dict[str, int] = {}


def addresses() -> dict[str, str]:
    """A name and an address for each page, of the fullest animal or litter of its kind."""
    return {**animals(), **litters(), **observations(), **breeding()}


def animals() -> dict[str, str]:
    here = Animal.objects.filter(state="in_herd")
    shown = {
        "sow": here.filter(sex="sow").annotate(n=Count("litters")).order_by("-n", "pk")[0],
        "boar": here.filter(sex="boar").annotate(n=Count("sired")).order_by("-n", "pk")[0],
        "pup": here.annotate(n=Count("looks")).filter(n=5).order_by("-litter__born", "pk")[0],
        "one on paper": Animal.objects.filter(state="paper").order_by("pk")[0],
    }
    pages = ("animal", "animal-reasons", "correct-animal", "move-animal", "animal-changes")
    return {
        **{
            f"{name} of a {kind}": reverse(name, args=[animal.public_id])
            for kind, animal in shown.items()
            for name in pages
        },
        **{name: reverse(name) for name in ("animals", "record-animal")},
    }


def litters() -> dict[str, str]:
    litter = Litter.objects.filter(source="home").annotate(n=Count("pups")).order_by("-n")[0]
    count = LitterCount.objects.order_by("pk")[0]
    of_a_litter = (
        "litter",
        "correct-litter",
        "add-pups",
        "weigh-litter",
        "look-at-litter",
        "exchange-records",
        "count-litter",
    )
    return {
        **{name: reverse(name) for name in ("litters", "record-litter")},
        **{name: reverse(name, args=[litter.public_id]) for name in of_a_litter},
        "litter with a count": reverse("litter", args=[count.litter.public_id]),
        **{
            name: reverse(name, args=[count.public_id])
            for name in ("correct-count", "remove-count")
        },
    }


def observations() -> dict[str, str]:
    animal = Animal.objects.filter(state="in_herd").order_by("pk")[0]
    look = Look.objects.exclude(smut="").order_by("pk")[0]
    weighing, judgement = (model.objects.order_by("pk")[0] for model in (Weighing, Judgement))
    rows = {"look": look, "weighing": weighing, "judgement": judgement}
    return {
        **{f"record-{kind}": reverse(f"record-{kind}", args=[animal.public_id]) for kind in rows},
        **{
            f"{act}-{kind}": reverse(f"{act}-{kind}", args=[row.public_id])
            for kind, row in rows.items()
            for act in ("correct", "remove")
        },
    }


def breeding() -> dict[str, str]:
    here = Animal.objects.filter(state="in_herd")
    sow = here.filter(sex="sow").annotate(n=Count("litters")).order_by("-n", "pk")[0]
    pup = here.filter(sex="boar").order_by("-litter__born", "pk")[0]
    mating = reverse("mating")
    return {
        **{
            name: reverse(name)
            for name in ("mating", "mating-grid", "ranking-weights", "season", "ahead", "lines")
        },
        "boars for a sow": f"{mating}?sow={sow.public_id}",
        "a sow with her youngest": f"{mating}?sow={sow.public_id}&boar={pup.public_id}",
    }


@pytest.mark.slow
def test_no_page_of_the_demo_herd_shows_more_prose_than_it_may(client, db, today):
    owner = open_book()
    load_demo(user=owner, herd=Herd.objects.for_user(owner).get(), today=today)
    compute_figures()
    client.force_login(owner)
    found = {}
    for name, address in addresses().items():
        answer = client.get(address)
        assert answer.status_code == 200, name
        found[name] = len(visible_prose(answer.content.decode()))
    assert {name: words for name, words in found.items() if words > BOUNDS.get(name, MOST)} == {}
    assert all(found.values()), "a page without a word is no page"


def page(body: str) -> str:
    return f"<html><body><header>Herd-book</header><main>{body}</main></body></html>"


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("<h1>A self sow</h1><p>79%, at 5 weeks.</p>", "A self sow 79%, at 5 weeks."),
        ("<details><summary>Why?</summary><p>Her sire</p></details><p>Edit</p>", "Why? Edit"),
        ("<details open><summary>Why?</summary>Her <b>sire</b></details>", "Why? Her sire"),
        ("<details><summary>A</summary><details><summary>B</summary>C</details></details>", "A"),
        ("<p hidden>Not <b>this</b></p><p>But<br>this</p>", "But this"),
        ("<table><thead><tr><th>Pup</th></tr></thead><tbody><td>No</td></tbody></table>", "Pup"),
        ("<select><option>No</option></select><svg><text>No</text></svg>Yes", "Yes"),
        ('<span class="unseen">No</span> Yes – and', "Yes and"),
    ],
)
def test_what_is_closed_hidden_or_in_rows_is_not_counted(body, words):
    assert visible_prose(page(body)) == words.split()
