"""The progress of a long calculation: the page that waits asks for it every few seconds."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.views.decorators.http import require_safe

from genetics.models import Job


@require_safe
@login_required
def show_job(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """The job's progress as a part of a page; once it is done the page is reloaded."""
    job = get_object_or_404(
        Job.objects.filter(Q(user=None) | Q(user=request.user)), public_id=public_id
    )
    answer = render(request, "job_part.html" if request.htmx else "job.html", {"job": job})
    if request.htmx and job.state == Job.State.DONE:
        answer["HX-Refresh"] = "true"
    return answer


urls = [path("jobs/<uuid:public_id>/", show_job, name="job")]
