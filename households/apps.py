from django.apps import AppConfig


class HouseholdsConfig(AppConfig):
    name = "households"
    default_auto_field = "django.db.models.BigAutoField"
