"""Where the pages of litters stand."""

from django.urls import path

from . import counts, listing, page, together, writing

urls = [
    path("litters/", listing.list_litters, name="litters"),
    path("litters/new/", writing.RecordLitter.as_view(), name="record-litter"),
    path("litters/<uuid:public_id>/", page.show_litter, name="litter"),
    path(
        "litters/<uuid:public_id>/correct/", writing.CorrectLitter.as_view(), name="correct-litter"
    ),
    path("litters/<uuid:public_id>/pups/new/", writing.AddPups.as_view(), name="add-pups"),
    path("litters/<uuid:public_id>/weigh/", together.WeighLitter.as_view(), name="weigh-litter"),
    path("litters/<uuid:public_id>/look/", together.LookAtLitter.as_view(), name="look-at-litter"),
    path(
        "litters/<uuid:public_id>/mix-up/",
        together.ExchangeRecords.as_view(),
        name="exchange-records",
    ),
    path("litters/<uuid:public_id>/together/", counts.RecordCount.as_view(), name="count-litter"),
    path("counts/<uuid:public_id>/correct/", counts.CorrectCount.as_view(), name="correct-count"),
    path("counts/<uuid:public_id>/remove/", counts.RemoveCount.as_view(), name="remove-count"),
]
