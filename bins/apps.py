from django.apps import AppConfig


class BinsConfig(AppConfig):
    name = "bins"
    default_auto_field = "django.db.models.BigAutoField"
