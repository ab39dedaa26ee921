"""Where the pages of litters stand."""

from django.urls import path

from . import counts, detail, edit, list, whole_litter

urls = [
    path("litters/", list.list_litters, name="litters"),
    path("litters/new/", edit.RecordLitter.as_view(), name="record-litter"),
    path("litters/<uuid:public_id>/", detail.show_litter, name="litter"),
    path("litters/<uuid:public_id>/correct/", edit.CorrectLitter.as_view(), name="correct-litter"),
    path("litters/<uuid:public_id>/pups/new/", edit.AddPups.as_view(), name="add-pups"),
    path(
        "litters/<uuid:public_id>/weigh/", whole_litter.WeighLitter.as_view(), name="weigh-litter"
    ),
    path(
        "litters/<uuid:public_id>/look/", whole_litter.LookAtLitter.as_view(), name="look-at-litter"
    ),
    path(
        "litters/<uuid:public_id>/mix-up/",
        whole_litter.ExchangeRecords.as_view(),
        name="exchange-records",
    ),
    path("litters/<uuid:public_id>/together/", counts.RecordCount.as_view(), name="count-litter"),
    path("counts/<uuid:public_id>/correct/", counts.CorrectCount.as_view(), name="correct-count"),
    path("counts/<uuid:public_id>/remove/", counts.RemoveCount.as_view(), name="remove-count"),
]
