"""Whether the service can write and whether jobs run, for whatever watches it."""

from django.core.cache import cache
from django.db import DatabaseError
from django.http import HttpRequest, JsonResponse
from django.utils import timezone

from ..jobs import canary


def healthz(request: HttpRequest) -> JsonResponse:
    """200 when a write went through and the last canary job is at most 300 s old; 503 with the reason else."""
    now = timezone.now()
    try:
        age = canary.age(now)
        if age is None:
            return JsonResponse({"state": "starting"}, status=503)
        # The cache is a table, so this is a write; it swallows the database's errors and answers False then.
        if not cache.add(f"healthz-{now.timestamp()}", 1, 1):
            return JsonResponse({"state": "database"}, status=503)
    except DatabaseError:
        return JsonResponse({"state": "database"}, status=503)
    state = {"state": "ok" if age <= canary.TOO_OLD else "jobs", "canary_age_s": round(age.total_seconds())}
    return JsonResponse(state, status=200 if age <= canary.TOO_OLD else 503)
