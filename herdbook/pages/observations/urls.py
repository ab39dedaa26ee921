"""Where the pages of weighings, judgements and looks stand."""

from django.urls import path

from .edit import JUDGEMENT, LOOK, WEIGHING, CorrectView, Kind, RecordView, RemoveObservationView


def _pages(of: str, kind: Kind) -> list:
    """The three pages of a kind of observation, whose addresses begin with ``of``."""
    row, name = f"{of}/<uuid:public_id>", kind.name
    new = f"animals/<uuid:public_id>/{of}/new/"
    return [
        path(new, RecordView.as_view(kind=kind), name=f"record-{name}"),
        path(f"{row}/correct/", CorrectView.as_view(kind=kind), name=f"correct-{name}"),
        path(f"{row}/remove/", RemoveObservationView.as_view(kind=kind), name=f"remove-{name}"),
    ]


urls = [*_pages("weighings", WEIGHING), *_pages("judgements", JUDGEMENT), *_pages("looks", LOOK)]
