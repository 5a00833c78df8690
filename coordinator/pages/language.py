"""Choosing a language: kept in a cookie, and with the account, so that mail comes in it too."""

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.http import require_POST
from django.views.i18n import set_language

from households.models import Account


@require_POST
def choose(request: HttpRequest) -> HttpResponseBase:
    code = request.POST.get("language", "")
    if isinstance(request.user, Account) and code in dict(settings.LANGUAGES):
        Account.objects.filter(pk=request.user.pk).update(language=code)
    return set_language(request)
