"""Every address of the service. A route into a building is a door with its rule; the others are listed in a test."""

from allauth.account import views as signin
from django.urls import path
from drf_spectacular.views import SpectacularJSONAPIView

from . import care
from .access import Rule
from .api import accepted as accepted_api
from .api import batches, capacity, decisions, dropoffs, drums, harvests, shares, visits
from .api import browns as browns_api
from .api import buckets as buckets_api
from .api import cases as cases_api
from .api import leaving as leaving_api
from .api import month as month_api
from .api import onbehalf as onbehalf_api
from .api import pails as pails_api
from .api import wrong_items as wrong_items_api
from .api.base import api_door
from .doors import door
from .pages import (
    accepted,
    amend,
    arrange,
    batch,
    browns,
    buckets,
    cases,
    correct,
    demo,
    dropoff,
    drum_care,
    handout,
    harvest,
    hatch,
    health,
    home,
    importing,
    language,
    leave,
    month,
    onbehalf,
    pails,
    people,
    problems,
    report,
    setup,
    share,
    sheets,
    site_rules,
    split,
    terms,
    today,
    tokens,
    wrong_items,
)

urlpatterns = [
    path("", home.home, name="home"),
    path("healthz", health.healthz, name="healthz"),
    path("language/", language.choose, name="set_language"),
    path("problems/<slug:code>/", problems.explain, name="problem"),
    path("demo/", demo.demo, name="demo"),
    path("setup/", setup.setup, name="setup"),
    path("setup/<slug:step>/", setup.step, name="setup-step"),
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
    door("setup/", arrange.overview, name="arrange", get=Rule("see", "setup")),
    door("setup/<slug:step>/", arrange.step, name="arrange-step", get=Rule("set", "setup"), post=Rule("set", "setup")),
    door("print/", sheets.index, name="sheets", get=Rule("print", "sheet")),
    door("print/log/<uuid:drum>/", sheets.log, name="sheet-log", get=Rule("print", "sheet")),
    door("print/week/", sheets.week, name="sheet-week", get=Rule("print", "sheet")),
    door("household/<uuid:uid>/card/", people.renew, name="card-renew", post=Rule("renew", "card")),
    door("d/<uuid:drum>/", hatch.show, name="hatch", get=Rule("see", "hatch")),
    door("d/<uuid:drum>/sign/", hatch.sign, name="sign", get=Rule("print", "sign")),
    door("d/<uuid:drum>/accepted/", accepted.show, name="accepted", get=Rule("see", "accepted")),
    door("d/<uuid:drum>/accepted/<int:version>/", accepted.show, name="accepted-version", get=Rule("see", "accepted")),
    door(
        "accepted/<uuid:site>/", accepted.edit, name="accepted-edit",
        get=Rule("set", "accepted"), post=Rule("set", "accepted"),
    ),
    door("drop-off/", dropoff.page, name="drop-off-form", get=Rule("add", "drop-off"), post=Rule("add", "drop-off")),
    door("drop-off/<uuid:uid>/", dropoff.show, name="drop-off", get=Rule("see", "drop-off")),
    door(
        "drop-off/<uuid:uid>/correct/", correct.page, name="drop-off-correct",
        get=Rule("correct", "drop-off"), post=Rule("correct", "drop-off"),
    ),
    door("on-behalf/", onbehalf.page, name="on-behalf", get=Rule("add", "on-behalf"), post=Rule("add", "on-behalf")),
    door("report/", report.page, name="report", get=Rule("add", "report"), post=Rule("add", "report")),
    door(
        "d/<uuid:drum>/report/", report.page, name="report-drum",
        get=Rule("add", "report"), post=Rule("add", "report"),
    ),
    door("report/<str:reference>/", report.status, name="report-status", get=Rule("see", "report")),
    door("cases/", cases.page, name="cases", get=Rule("see", "case"), post=Rule("set", "report-promise")),
    door("case/<uuid:uid>/", cases.one, name="case", get=Rule("see", "case"), post=Rule("answer", "case")),
    door("import/", importing.page, name="import", get=Rule("add", "import"), post=Rule("add", "import")),
    door("import/template/<slug:kind>/", importing.template, name="import-template", get=Rule("add", "import")),
    door("import/<uuid:uid>/", importing.run, name="import-run", get=Rule("see", "import"), post=Rule("add", "import")),
    door("import/<uuid:uid>/refused.csv", importing.refused, name="import-refused", get=Rule("see", "import")),
    door(
        "household/<uuid:uid>/leave/", leave.page, name="leave",
        get=Rule("leave", "household"), post=Rule("leave", "household"),
    ),
    door("drop-off/<uuid:uid>/undo/", dropoff.undo, name="drop-off-undo", post=Rule("undo", "drop-off")),
    door("today/", today.page, name="today", get=Rule("see", "today"), post=Rule("add", "visit")),
    door("decision/<uuid:uid>/", today.answer, name="decision", post=Rule("settle", "decision")),
    door("harvests/", harvest.harvests, name="harvests", get=Rule("see", "harvest")),
    door(
        "batch/<uuid:batch>/harvest/", harvest.page, name="harvest", get=Rule("add", "harvest"),
        post=Rule("add", "harvest"),
    ),
    door("harvest/<uuid:harvest>/", split.page, name="split", get=Rule("see", "harvest"), post=Rule("add", "split")),
    door(
        "harvest/<uuid:harvest>/hand-out/", handout.page, name="hand-out", get=Rule("see", "hand-out"),
        post=Rule("add", "pick-up"),
    ),
    door("harvest/<uuid:harvest>/loss/", split.lose, name="loss", post=Rule("add", "loss")),
    door("outgoing/<uuid:outgoing>/undo/", split.take_back, name="outgoing-undo", post=Rule("undo", "outgoing")),
    door("share/", share.page, name="share", get=Rule("see", "share"), post=Rule("choose", "share")),
    door("sharing/", terms.page, name="sharing", get=Rule("see", "sharing"), post=Rule("set", "sharing")),
    door("browns/", browns.page, name="browns", get=Rule("see", "browns")),
    door("browns/<uuid:site>/", browns.tell, name="browns-tell", post=Rule("set", "browns")),
    door("browns/<uuid:site>/number/", browns.accept, name="browns-number", post=Rule("set", "browns")),
    door("browns/<uuid:site>/stock/", browns.stock, name="browns-stock", post=Rule("set", "browns")),
    door(
        "amend/<uuid:batch>/", amend.page, name="amend", get=Rule("add", "amendment"), post=Rule("add", "amendment")
    ),
    door("buckets/", buckets.page, name="buckets", get=Rule("see", "bucket"), post=Rule("set", "bucket")),
    door("buckets/<uuid:uid>/fill/", buckets.fill, name="bucket-fill", post=Rule("fill", "bucket")),
    door("buckets/<uuid:uid>/empty/", buckets.pour, name="bucket-pour", post=Rule("empty", "bucket")),
    door("pails/", pails.page, name="pails", get=Rule("see", "pail"), post=Rule("set", "pail")),
    door("pails/<uuid:pail>/measure/", pails.measure, name="pail-measure", post=Rule("set", "pail")),
    door("pails/<uuid:pail>/weigh/", pails.weigh, name="pail-weigh", post=Rule("add", "weighing")),
    door("pails/<uuid:pail>/accept/", pails.accept, name="pail-accept", post=Rule("set", "pail")),
    door(
        "wrong-item/<uuid:drum>/", wrong_items.page, name="wrong-item",
        get=Rule("add", "wrong-item"), post=Rule("add", "wrong-item"),
    ),
    door("d/<uuid:drum>/turned/", hatch.turned, name="turned", post=Rule("add", "turning")),
    door("batch/<uuid:uid>/", batch.show, name="batch", get=Rule("see", "batch")),
    door("batch/<uuid:uid>/<slug:act>/", batch.act, name="batch-act", post=Rule("change", "batch")),
    door("test/<uuid:uid>/result/", batch.read_result, name="test-result", post=Rule("change", "batch")),
    door(
        "drum/<uuid:uid>/", drum_care.page, name="drum-care", get=Rule("see", "drum-care"),
        post=Rule("change", "drum-care"),
    ),
    door("hatch/<uuid:uid>/<slug:act>/", drum_care.hatch, name="hatch-act", post=Rule("change", "drum-care")),
    door(
        "site/<uuid:uid>/rules/", site_rules.page, name="site-rules", get=Rule("set", "site-rules"),
        post=Rule("set", "site-rules"),
    ),
    door("month/", month.now, name="month-now", get=Rule("see", "month")),
    door("month/<int:year>/<int:number>/", month.show, name="month", get=Rule("see", "month")),
    door(
        "month/<int:year>/<int:number>/rows/<slug:figure>/",
        month.rows_behind,
        name="month-rows",
        get=Rule("see", "month-rows"),
    ),
    door("month/<int:year>/<int:number>/close/", month.close, name="month-close", post=Rule("close", "month")),
    door("people/", people.page, name="people", get=Rule("see", "people"), post=Rule("add", "people")),
    door("tokens/", tokens.page, name="tokens", get=Rule("see", "token"), post=Rule("add", "token")),
    door("tokens/<uuid:uid>/revoke/", tokens.revoke, name="token-revoke", post=Rule("revoke", "token")),
    # API
    path("api/schema/", SpectacularJSONAPIView.as_view(), name="api-schema"),
    api_door("drums/", drums.Drums, name="api-drums"),
    api_door("capacity/", capacity.Capacity, name="api-capacity"),
    api_door("drop-offs/", dropoffs.DropOffs, name="api-drop-offs"),
    api_door("drop-offs/<uuid:uid>/", dropoffs.OneDropOff, name="api-drop-off"),
    api_door("drop-offs/<uuid:uid>/correct/", onbehalf_api.Correct, name="api-drop-off-correct"),
    api_door("on-behalf/", onbehalf_api.OnBehalfOf, name="api-on-behalf"),
    api_door("reports/", cases_api.Reports, name="api-reports"),
    api_door("reports/<str:reference>/", cases_api.OneReport, name="api-report"),
    api_door("cases/", cases_api.Cases, name="api-cases"),
    api_door("cases/<uuid:uid>/steps/", cases_api.CaseSteps, name="api-case-steps"),
    api_door("households/<uuid:uid>/leave/", leaving_api.Leave, name="api-leave"),
    api_door("drop-offs/<uuid:uid>/undo/", dropoffs.Undo, name="api-drop-off-undo"),
    api_door("visits/", visits.Visits, name="api-visits"),
    api_door("turnings/", visits.Turnings, name="api-turnings"),
    api_door("batches/", batches.Batches, name="api-batches"),
    api_door("batches/<uuid:uid>/", batches.OneBatch, name="api-batch"),
    *(
        api_door(f"{care.PLURAL[care.ACTS[act].subject]}/<uuid:uid>/{act}/", view, name=f"api-{act}")
        for act, view in batches.ACT_VIEWS.items()
    ),
    api_door("sites/<uuid:uid>/rules/", batches.Rules, name="api-site-rules"),
    api_door("decisions/", decisions.Decisions, name="api-decisions"),
    api_door("decisions/<uuid:uid>/answer/", decisions.Answer, name="api-decision-answer"),
    api_door("harvests/", harvests.Harvests, name="api-harvests"),
    api_door("harvests/<uuid:harvest>/split/", harvests.OneSplit, name="api-split"),
    api_door("harvests/<uuid:harvest>/hand-out/", shares.HandOut, name="api-hand-out"),
    api_door("harvests/<uuid:harvest>/losses/", harvests.Losses, name="api-losses"),
    api_door("outgoings/<uuid:outgoing>/undo/", harvests.TakeBack, name="api-outgoing-undo"),
    api_door("shares/", shares.Shares, name="api-shares"),
    api_door("shares/garden/", shares.Garden, name="api-garden"),
    api_door("browns/", browns_api.Browns, name="api-browns"),
    api_door("browns/<uuid:site>/", browns_api.SiteBrowns, name="api-site-browns"),
    api_door("browns/<uuid:site>/number/", browns_api.Number, name="api-browns-number"),
    api_door("browns/<uuid:site>/stock/", browns_api.Stock, name="api-browns-stock"),
    api_door("corrections/", browns_api.Corrections, name="api-corrections"),
    api_door("amendments/", browns_api.Amendments, name="api-amendments"),
    api_door("pails/", pails_api.Pails, name="api-pails"),
    api_door("pails/<uuid:pail>/measure/", pails_api.Measure, name="api-pail-measure"),
    api_door("pails/<uuid:pail>/accept/", pails_api.Accept, name="api-pail-accept"),
    api_door("buckets/", buckets_api.Buckets, name="api-buckets"),
    api_door("buckets/<uuid:uid>/fill/", buckets_api.Fill, name="api-bucket-fill"),
    api_door("buckets/<uuid:uid>/empty/", buckets_api.Pour, name="api-bucket-pour"),
    api_door("weighings/", pails_api.Weighings, name="api-weighings"),
    api_door("sites/<uuid:site>/accepted/", accepted_api.Accepted, name="api-accepted"),
    api_door("wrong-items/", wrong_items_api.WrongItems, name="api-wrong-items"),
    api_door("months/<int:year>/<int:number>/", month_api.OneMonth, name="api-month"),
    api_door("months/<int:year>/<int:number>/close/", month_api.Close, name="api-month-close"),
    api_door("months/<int:year>/<int:number>/rows/<slug:figure>/", month_api.Rows, name="api-month-rows"),
]

handler400 = "coordinator.errors.bad_request"
handler403 = "coordinator.errors.forbidden"
handler404 = "coordinator.errors.not_found"
handler500 = "coordinator.errors.server_error"
