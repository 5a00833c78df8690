"""Every address of the API. A route into a building is an api_door; its view names the rules of its methods."""

from django.urls import path
from drf_spectacular.views import SpectacularJSONAPIView

from .. import care
from . import accepted as accepted_api
from . import batches, capacity, decisions, dropoffs, drums, harvests, imports, shares, visits
from . import bringing as bringing_api
from . import browns as browns_api
from . import buckets as buckets_api
from . import cases as cases_api
from . import committee as committee_api
from . import duties as duties_api
from . import forecasts as forecasts_api
from . import leaving as leaving_api
from . import money as money_api
from . import month as month_api
from . import onbehalf as onbehalf_api
from . import pails as pails_api
from . import periods as periods_api
from . import permits as permits_api
from . import plans as plans_api
from . import rota as rota_api
from . import sharing as sharing_api
from . import slots as slots_api
from . import store as store_api
from . import trouble as trouble_api
from . import what_ifs as what_ifs_api
from . import wrong_items as wrong_items_api
from .base import api_door

urlpatterns = [
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
    api_door("imports/", imports.Imports, name="api-imports"),
    api_door("imports/<uuid:uid>/", imports.OneImport, name="api-import"),
    api_door("imports/<uuid:uid>/bring-in/", imports.BringIn, name="api-import-bring-in"),
    api_door("visits/", visits.Visits, name="api-visits"),
    api_door("turnings/", visits.Turnings, name="api-turnings"),
    api_door("batches/", batches.Batches, name="api-batches"),
    api_door("batches/<uuid:uid>/", batches.OneBatch, name="api-batch"),
    api_door("batches/<uuid:uid>/trouble/", trouble_api.Trouble, name="api-trouble"),
    api_door("forecasts/", forecasts_api.Forecasts, name="api-forecasts"),
    api_door("ready-ranges/", forecasts_api.ReadyRanges, name="api-ready-ranges"),
    api_door("what-ifs/", what_ifs_api.WhatIfs, name="api-what-ifs"),
    api_door("what-ifs/<uuid:uid>/", what_ifs_api.OneWhatIf, name="api-what-if"),
    *(
        api_door(f"{care.PLURAL[care.ACTS[act].subject]}/<uuid:uid>/{act}/", view, name=f"api-{act}")
        for act, view in batches.ACT_VIEWS.items()
    ),
    api_door("sites/<uuid:uid>/rules/", batches.Rules, name="api-site-rules"),
    api_door("decisions/", decisions.Decisions, name="api-decisions"),
    api_door("decisions/<uuid:uid>/answer/", decisions.Answer, name="api-decision-answer"),
    api_door("harvests/", harvests.Harvests, name="api-harvests"),
    api_door("harvest-parts/", harvests.Parts, name="api-harvest-parts"),
    api_door("harvest-parts/<uuid:part>/undo/", harvests.PartUndo, name="api-harvest-part-undo"),
    api_door("harvests/<uuid:harvest>/split/", harvests.OneSplit, name="api-split"),
    api_door("harvests/<uuid:harvest>/hand-out/", shares.HandOut, name="api-hand-out"),
    api_door("harvests/<uuid:harvest>/losses/", harvests.Losses, name="api-losses"),
    api_door("outgoings/<uuid:outgoing>/undo/", harvests.TakeBack, name="api-outgoing-undo"),
    api_door("hand-out/", shares.HandOutDay, name="api-hand-out-day"),
    api_door("shares/", shares.Shares, name="api-shares"),
    api_door("shares/wish/", shares.ShareWish, name="api-share-wish"),
    api_door("shares/gifts/", shares.Gifts, name="api-gifts"),
    api_door("share-requests/", shares.Requests, name="api-share-requests"),
    api_door("sites/<uuid:site>/sharing/", sharing_api.SiteSharing, name="api-site-sharing"),
    api_door("committee-decisions/", committee_api.CommitteeDecisions, name="api-committee-decisions"),
    api_door("sites/<uuid:site>/ways/", committee_api.SiteWays, name="api-site-ways"),
    api_door("questions/<uuid:uid>/answer/", committee_api.CommitteeAnswer, name="api-committee-answer"),
    api_door("browns-stores/", store_api.Stores, name="api-stores"),
    api_door("browns-stores/<uuid:site>/", store_api.OneStore, name="api-store"),
    api_door("browns-brought/", bringing_api.Bringing, name="api-browns-brought"),
    api_door("browns-brought/<uuid:stored>/undo/", bringing_api.BringingUndo, name="api-browns-brought-undo"),
    api_door("harvests/<uuid:harvest>/part-taken/", bringing_api.PartTaken, name="api-part-taken"),
    api_door("stock/", store_api.StockRows, name="api-stock"),
    api_door("stock/<uuid:stored>/undo/", store_api.UndoStock, name="api-stock-undo"),
    api_door("limits/", permits_api.Limits, name="api-limits"),
    api_door("recorded/", permits_api.Log, name="api-period-log"),
    api_door("money/", money_api.Rows, name="api-money"),
    api_door("money/<int:year>/<int:number>/", money_api.OneMonth, name="api-money-month"),
    api_door("money/<uuid:money>/undo/", money_api.Undo, name="api-money-undo"),
    api_door("money/<uuid:money>/back/", money_api.Back, name="api-money-back"),
    api_door("receipts/<uuid:photo>/", money_api.Receipt, name="api-receipt"),
    api_door("money/<uuid:money>/look/", money_api.Look, name="api-money-look"),
    api_door("money/limit/", money_api.MoneyLimit, name="api-money-limit"),
    api_door("sites/<uuid:site>/duty-kinds/", rota_api.DutyKinds, name="api-duty-kinds"),
    api_door("sites/<uuid:site>/duty-households/", rota_api.Sharers, name="api-duty-households"),
    api_door("sites/<uuid:site>/rota/", rota_api.Rota, name="api-rota"),
    api_door("sites/<uuid:site>/rota/cells/", rota_api.Cells, name="api-rota-cells"),
    api_door("rota/<uuid:uid>/", rota_api.Draft, name="api-rota-draft"),
    api_door("duties/", duties_api.Duties, name="api-duties"),
    api_door("duties/week/", duties_api.Week, name="api-duty-week"),
    api_door("duties/shares/", duties_api.Shares, name="api-duty-shares"),
    api_door("duties/limits/", duties_api.Limits, name="api-duty-limits"),
    api_door("duties/<uuid:uid>/done/", duties_api.Done, name="api-duty-done"),
    api_door("duties/<uuid:uid>/take/", duties_api.Take, name="api-duty-take"),
    api_door("covers/", duties_api.Covers, name="api-covers"),
    api_door("covers/<uuid:uid>/answer/", duties_api.CoverAnswers, name="api-cover-answer"),
    api_door("sites/<uuid:site>/stand-in/", duties_api.StandIns, name="api-stand-in"),
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
    api_door("figures/<slug:span>/<int:year>/<int:number>/", periods_api.OnePeriod, name="api-period"),
    api_door("months/<int:year>/<int:number>/rows/<slug:figure>/", month_api.Rows, name="api-month-rows"),
    api_door("slots/", slots_api.Slots, name="api-slots"),
    api_door("slots/<uuid:uid>/change/", slots_api.OneSlot, name="api-slot"),
    api_door("slots/<uuid:uid>/end/", slots_api.EndSlot, name="api-slot-end"),
    api_door("bookings/", slots_api.Bookings, name="api-bookings"),
    api_door("bookings/on-behalf/", slots_api.BookingsOnBehalf, name="api-bookings-on-behalf"),
    api_door("bookings/on-behalf/<uuid:uid>/cancel/", slots_api.CancelOnBehalf, name="api-booking-on-behalf-cancel"),
    api_door("bookings/<uuid:uid>/cancel/", slots_api.CancelBooking, name="api-booking-cancel"),
    api_door("closures/", slots_api.Closures, name="api-closures"),
    api_door("closures/<uuid:uid>/open/", slots_api.OpenDays, name="api-closure-open"),
    api_door("absences/", plans_api.Absences, name="api-absences"),
    api_door("absences/<uuid:uid>/remove/", plans_api.RemoveAbsence, name="api-absence-remove"),
    api_door("wishes/", plans_api.HouseholdWishes, name="api-wishes"),
    api_door("contact/", plans_api.OwnContact, name="api-contact"),
    api_door("contact/address/", plans_api.FeedAddress, name="api-feed"),
    api_door("contact/address/end/", plans_api.EndFeed, name="api-feed-end"),
]
