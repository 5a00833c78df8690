import pytest
from tests.bins.test_conservation import STEPS
from tests.bins import test_conservation as t
import bins.took_part, bins.sharing, bins.unclaimed, bins.outgoing
from bins.unclaimed import Left
from hypothesis import settings as S, Phase, given, HealthCheck, seed
def no_order(g):
    out=[]
    for w in g:
        there=w.millionths
        for l in reversed(w.shares):
            a=min(there,l.millionths)
            if a: out.append(Left(w.harvest_uid,l.share_uid,a))
            there-=a
        if there: out.append(Left(w.harvest_uid,None,there))
    return tuple(out)
MUT={"none": lambda m: None, "credits": lambda m: m.setattr(bins.took_part,"credits",lambda *a,**k:{}),
 "leftover": lambda m: m.setattr(bins.unclaimed,"decide",no_order),
 "optout": lambda m: m.setattr(t,"choose_garden",lambda **k: None)}
@pytest.mark.parametrize("name", list(MUT))
def test_mut(cast, monkeypatch, name):
    MUT[name](monkeypatch)
    f=S(max_examples=25,deadline=None,database=None,phases=[Phase.generate],suppress_health_check=list(HealthCheck))(given(steps=STEPS)(lambda steps: t.test_the_books_balance_whatever_happens.hypothesis.inner_test(cast, steps)))
    if name=="none": f(); return
    with pytest.raises(BaseException):
        f()
