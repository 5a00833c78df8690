"""Looking round the invented block. The page exists only while the database carries the demo mark."""

from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from households.models import Account


@require_http_methods(["GET", "POST"])
def demo(request: HttpRequest) -> HttpResponse:
    accounts = Account.objects.filter(is_demo=True, is_active=True).order_by("pk")
    if request.method == "POST":
        account = accounts.filter(email=request.POST.get("email", "")).first()
        if account is None:
            raise Http404
        login(request, account, backend="allauth.account.auth_backends.AuthenticationBackend")
        return HttpResponseRedirect(reverse("home"))
    if not accounts.exists():
        raise Http404
    return render(request, "pages/demo.html", {"accounts": accounts})
