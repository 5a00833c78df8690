"""Who can sign in. An account has no building: people do."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower


class AccountManager(BaseUserManager["Account"]):
    def create_user(self, email: str, **fields: Any) -> "Account":
        """Add an account without a password: sign-in is by mailed code."""
        account = self.model(email=email.strip().lower(), **fields)
        account.set_unusable_password()
        account.save(using=self._db)
        return account

    def has_demo(self) -> bool:
        """Whether the database carries the demo mark."""
        return self.filter(is_demo=True, is_active=True).exists()

    def get_by_natural_key(self, username: str | None) -> "Account":
        return self.get(email__iexact=username)


class Account(AbstractBaseUser):
    email = models.EmailField(unique=True)
    language = models.CharField(max_length=8, default="en")
    is_active = models.BooleanField(default=True)
    is_demo = models.BooleanField(default=False)  # the demo mark: only these can use the demo sign-in
    created_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[AccountManager] = AccountManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    class Meta:
        constraints = [models.UniqueConstraint(Lower("email"), name="account_email_once")]

    def __str__(self) -> str:
        return self.email
