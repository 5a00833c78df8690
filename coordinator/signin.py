"""Sign-in by mailed code: one form, the same answer for known and unknown addresses, mail by the outbox."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.forms import ConfirmLoginCodeForm, RequestLoginCodeForm
from allauth.account.models import EmailAddress
from django import forms
from django.utils import timezone, translation
from django.utils.translation import gettext_lazy as _

from households.models import Account, Notice


class Adapter(DefaultAccountAdapter):  # type: ignore[misc]
    error_messages = DefaultAccountAdapter.error_messages | {
        "incorrect_code": _("That is not the code. Look at the newest mail and type it again."),
        "too_many_login_attempts": _("That was tried too often. Wait a few minutes, then ask for a new code."),
        "rate_limited": _("That was tried too often. Wait a minute, then send it again."),
    }

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Write the message to the outbox; the job loop sends it within seconds, broker or not."""
        account = Account.objects.filter(email__iexact=email).first()
        if account is not None and template_prefix == "account/email/login_code":
            # Whoever was added by others has no such row yet, and without it the right code would be
            # followed by a second one that proves the address again.
            EmailAddress.objects.get_or_create(user=account, email=account.email, defaults={"primary": True})
        language = account.language if account else translation.get_language()
        with translation.override(language):
            message = self.render_mail(template_prefix, email, context)
        Notice.post(
            building=None, kind="sign-in", to=email, subject=message.subject, body=message.body, due_at=timezone.now()
        )

    def send_account_already_exists_mail(self, email: str) -> None:
        """Somebody signs up with an address that has an account: tell the owner, not the asker."""
        self.send_mail("account/email/account_already_exists", email, {})


class RequestCodeForm(RequestLoginCodeForm):  # type: ignore[misc]
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"] = forms.EmailField(
            label=_("Your e-mail address"), widget=forms.EmailInput(attrs={"autocomplete": "email", "dir": "ltr"})
        )


class ConfirmCodeForm(ConfirmLoginCodeForm):  # type: ignore[misc]
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].label = _("The code from the mail")
        self.fields["code"].widget.attrs |= {"autocomplete": "one-time-code", "dir": "ltr", "placeholder": ""}
