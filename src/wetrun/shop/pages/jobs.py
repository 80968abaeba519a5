"""Long work: what is under way in a branch, one job, cancelling and trying again."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import F
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.jobs.asking import cancel, retry
from wetrun.shop.jobs.models import Job, State
from wetrun.shop.pages.listing import page_of


@asks(Act.LOOK)
def work(request: DeskRequest) -> HttpResponse:
    """Show the jobs of the branch: what is open first, then the latest to end."""
    found = Job.objects.filter(branch=request.desk.branch).select_related("made_by").defer("args", "result")
    page = page_of(request, found.order_by(F("ended_at").desc(nulls_first=True), "-pk"))
    return render(request, "jobs/list.html", {"page": page, "any_open": any(job.is_open for job in page)})


@asks(Act.LOOK, job=Job)
def job_page(request: DeskRequest, job: Job) -> HttpResponse:
    """Show one job."""
    return render(request, "jobs/page.html", {"job": job})


@asks(Act.LOOK, job=Job)
def job_progress(request: DeskRequest, job: Job) -> HttpResponse:
    """Show how far a job is, for a page that shows it; once the job has ended that page is to be fetched anew."""
    answer = render(request, "jobs/now.html", {"job": job})
    if not job.is_open:
        answer["HX-Refresh"] = "true"
    return answer


@asks(Act.ENTER, posts=True, job=Job)
def job_cancel(request: DeskRequest, job: Job) -> HttpResponse:
    """Want a job no more."""
    if request.method == "POST":
        now = cancel(job, timezone.now())
        said = {
            State.CANCELLED.value: _("“%(words)s” is cancelled."),
            State.RUNNING.value: _("“%(words)s” is being stopped. It saves nothing any more."),
        }.get(now.state, _("“%(words)s” had ended before."))
        messages.info(request, said % {"words": job})
    return redirect("job", job=job.pk)


@asks(Act.ENTER, posts=True, job=Job)
def job_retry(request: DeskRequest, job: Job) -> HttpResponse:
    """Try a job again."""
    if request.method == "POST":
        job = retry(job, timezone.now())
    return redirect("job", job=job.pk)


addresses = [
    path("work/", work, name="work"),
    path("work/<int:job>/", job_page, name="job"),
    path("work/<int:job>/progress/", job_progress, name="job-progress"),
    path("work/<int:job>/cancel/", job_cancel, name="job-cancel"),
    path("work/<int:job>/retry/", job_retry, name="job-retry"),
]
