"""Answers to the first questions, kept until the building stands: somebody may stop and go on tomorrow."""

import uuid

from django.db import models


class SetupDraft(models.Model):
    """One a person at a time. It goes when the building is founded, which takes over its uid."""

    account = models.OneToOneField("households.Account", on_delete=models.CASCADE, related_name="setup_draft")
    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    answers = models.JSONField(default=dict)  # question -> field -> text as it was typed, checked by its record
    changed_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"set-up by {self.account_id}"
