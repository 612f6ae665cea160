"""Checking a pack: a page for whoever was handed one."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from kegsafe.inspection.checking import check_pack
from kegsafe.inspection.forms.links import CheckForm


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def pack_check(request: HttpRequest) -> HttpResponse:
    """Say of a file whether it is a pack as it was made here. The file is not kept."""
    form = CheckForm(request.POST, request.FILES) if request.method == "POST" else CheckForm()
    check = check_pack(form.cleaned_data["file"].read()) if form.is_valid() else None
    name = form.cleaned_data["file"].name if check else ""
    context = {"form": form, "check": check, "name": name}
    return render(request, "inspection/check.html", context)
