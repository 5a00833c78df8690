from django.apps import AppConfig


class CoordinatorConfig(AppConfig):
    name = "coordinator"

    def ready(self) -> None:
        from . import checks  # noqa: F401  (registers the start-up checks)
        from .celery import app  # noqa: F401  (shared tasks find their app)
