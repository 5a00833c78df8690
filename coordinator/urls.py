"""Every address of the service. A route into a building is a door with its rule; the others are listed in a test."""

from allauth.account import views as signin
from django.urls import path
from drf_spectacular.views import SpectacularJSONAPIView

from .access import Rule
from .api import decisions, dropoffs, drums, visits
from .api import month as month_api
from .api.base import api_door
from .doors import door
from .pages import demo, dropoff, hatch, health, home, language, month, people, problems, setup, today, tokens

urlpatterns = [
    path("", home.home, name="home"),
    path("healthz", health.healthz, name="healthz"),
    path("language/", language.choose, name="set_language"),
    path("problems/<slug:code>/", problems.explain, name="problem"),
    path("demo/", demo.demo, name="demo"),
    path("setup/", setup.setup, name="setup"),
    # Sign-in
    path("sign-in/", signin.request_login_code, name="account_login"),
    path("sign-in/new-code/", signin.request_login_code, name="account_request_login_code"),
    path("sign-in/code/", signin.confirm_login_code, name="account_confirm_login_code"),
    path("sign-up/", signin.signup, name="account_signup"),
    path("sign-up/code/", signin.email_verification_sent, name="account_email_verification_sent"),
    path("sign-out/", signin.logout, name="account_logout"),
    path("sign-in/inactive/", signin.account_inactive, name="account_inactive"),
    # Pages of a building
    door("", home.building, name="building", get=Rule("see", "home")),
    door("d/<uuid:drum>/", hatch.show, name="hatch", get=Rule("see", "hatch")),
    door("d/<uuid:drum>/sign/", hatch.sign, name="sign", get=Rule("print", "sign")),
    door("drop-off/", dropoff.page, name="drop-off-form", get=Rule("add", "drop-off"), post=Rule("add", "drop-off")),
    door("drop-off/<uuid:uid>/", dropoff.show, name="drop-off", get=Rule("see", "drop-off")),
    door("drop-off/<uuid:uid>/undo/", dropoff.undo, name="drop-off-undo", post=Rule("undo", "drop-off")),
    door("today/", today.page, name="today", get=Rule("see", "today"), post=Rule("add", "visit")),
    door("decision/<uuid:uid>/", today.answer, name="decision", post=Rule("settle", "decision")),
    door("month/", month.now, name="month-now", get=Rule("see", "month")),
    door("month/<int:year>/<int:number>/", month.show, name="month", get=Rule("see", "month")),
    door("people/", people.page, name="people", get=Rule("see", "people"), post=Rule("add", "people")),
    door("tokens/", tokens.page, name="tokens", get=Rule("see", "token"), post=Rule("add", "token")),
    door("tokens/<uuid:uid>/revoke/", tokens.revoke, name="token-revoke", post=Rule("revoke", "token")),
    # API
    path("api/schema/", SpectacularJSONAPIView.as_view(), name="api-schema"),
    api_door("drums/", drums.Drums, name="api-drums"),
    api_door("drop-offs/", dropoffs.DropOffs, name="api-drop-offs"),
    api_door("drop-offs/<uuid:uid>/", dropoffs.OneDropOff, name="api-drop-off"),
    api_door("drop-offs/<uuid:uid>/undo/", dropoffs.Undo, name="api-drop-off-undo"),
    api_door("visits/", visits.Visits, name="api-visits"),
    api_door("decisions/", decisions.Decisions, name="api-decisions"),
    api_door("decisions/<uuid:uid>/answer/", decisions.Answer, name="api-decision-answer"),
    api_door("months/<int:year>/<int:number>/", month_api.OneMonth, name="api-month"),
]

handler400 = "coordinator.errors.bad_request"
handler403 = "coordinator.errors.forbidden"
handler404 = "coordinator.errors.not_found"
handler500 = "coordinator.errors.server_error"
