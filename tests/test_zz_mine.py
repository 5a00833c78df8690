from django.test import Client
from tests.coordinator import test_route_matrix as m
from tests.coordinator import test_languages as lang
from tests.coordinator.test_route_matrix import full
from tests.coordinator.test_languages import collected, pseudo
from tests.cast import Cast, account_of
from tests.pages import pages_of
MINE = {"arrange", "arrange-step", "sheets", "sheet-log", "sheet-week", "card-renew", "api-capacity", "sign", "people"}
def test_mine(full, monkeypatch):
    old = m.routes
    monkeypatch.setattr(m, "routes", lambda: [r for r in old() if r.name in MINE])
    m.test_each_route_answers_each_role_as_the_access_table_says(full)
    m.test_another_buildings_person_is_answered_as_if_there_were_nothing(full)
def test_words(cast, pseudo):
    loose = {}
    for who, address in pages_of(cast):
        if not any(w in address for w in ("setup", "print", "sign", "people")): continue
        client = Client(headers={"accept-language": lang.CARRIER})
        if who: client.force_login(account_of(cast.people[who]), "allauth.account.auth_backends.AuthenticationBackend")
        page = lang.Loose(); page.feed(client.get(address).content.decode())
        rest = [x for x in page.loose if x not in ("English","Español","Français","Esperanto","Quince Court") and not x.endswith("- Quince Court")]
        if rest: loose[address] = rest
    assert loose == {}
