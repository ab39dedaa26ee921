"""Where the pages of litters stand."""

from django.urls import path

from . import counts, listing, page, together, writing

urls = [
    path("litters/", listing.list_litters, name="litters"),
    path("litters/new/", writing.record, name="record-litter"),
    path("litters/<uuid:public_id>/", page.show_litter, name="litter"),
    path("litters/<uuid:public_id>/correct/", writing.correct, name="correct-litter"),
    path("litters/<uuid:public_id>/pups/new/", writing.add, name="add-pups"),
    path("litters/<uuid:public_id>/weigh/", together.weigh, name="weigh-litter"),
    path("litters/<uuid:public_id>/look/", together.look, name="look-at-litter"),
    path("litters/<uuid:public_id>/mix-up/", together.exchange, name="exchange-records"),
    path("litters/<uuid:public_id>/together/", counts.record, name="count-litter"),
    path("counts/<uuid:public_id>/correct/", counts.correct, name="correct-count"),
    path("counts/<uuid:public_id>/remove/", counts.remove, name="remove-count"),
]
