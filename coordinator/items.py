"""What goes in and what stays out, in plain words: the name of a thing, and why. One picture each stands in
templates/drawing/items/, under the same key."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext_lazy as _

from bins.intake.accepting import DEFAULT, Line


@dataclass(frozen=True)
class Words:
    name: Any
    why: Any


ITEMS: dict[str, Words] = {
    "fruit_vegetables": Words(
        _("fruit, vegetables"), _("The best food for the drum. Cut big pieces small: they go faster.")
    ),
    "coffee": Words(
        _("coffee grounds"),
        _("The paper filter too. Brown to look at, but they count with the wet scraps: add browns."),
    ),
    "tea": Words(
        _("tea leaves"), _("They count with the wet scraps. Tear the bag open: many bags are made of plastic.")
    ),
    "eggshells": Words(_("egg shells"), _("They give lime. Crushed, they do not cut your hands later.")),
    "flowers": Words(_("flowers"), _("Cut the stems short, and take off wire and ribbon.")),
    "egg_boxes": Words(_("egg boxes"), _("Plain grey ones, torn up. They count as browns.")),
    "citrus": Words(_("much orange peel"), _("Lemon peel too. A little is fine; a bucket full turns the drum sour.")),
    "big_stones": Words(
        _("big fruit stones"), _("Of mango or avocado. They take years, and the sieve must catch them.")
    ),
    "sick_plants": Words(
        _("sick plants"), _("Sprayed ones too. The drum may not get hot enough, and sprays can harm the beds.")
    ),
    "meat": Words(_("meat, bones"), _("It smells and calls rats.")),
    "fish": Words(_("fish"), _("It smells and calls rats.")),
    "dairy": Words(_("milk, cheese"), _("It turns sour, smells and calls rats.")),
    "fats": Words(_("oil, fat"), _("It wraps the scraps, so that no air gets to them.")),
    "cooked": Words(
        _("cooked food, bread"), _("Ready meals too. Salt and fat slow the drum, and the smell calls rats.")
    ),
    "bags": Words(_("bags"), _("Of every kind, even those sold as compostable: they need longer than a drum has.")),
    "plastic": Words(_("plastic"), _("It never goes away. It ends up in the beds, in small bits.")),
    "glass_metal": Words(_("glass, metal"), _("They cut the hands of whoever empties the drum.")),
    "stickers": Words(_("fruit stickers"), _("They are plastic. Peel them off at home.")),
    "glossy_paper": Words(_("glossy paper"), _("The gloss is plastic or clay. Plain torn card is welcome.")),
    "pet_litter": Words(_("pet litter"), _("Droppings too. They can carry things that make people ill.")),
    "ash": Words(_("ash"), _("It may still glow inside, and it can hold metals from painted wood.")),
}


@dataclass(frozen=True)
class Told:
    """One thing of a site's list, ready for a page: our reason where the site judges as usual, else its own."""

    key: str
    verdict: str
    name: Any
    why: Any
    note: str

    @property
    def picture(self) -> str:
        return f"drawing/items/{self.key}.svg"


def told(line: Line) -> Told:
    words = ITEMS[line.key]
    return Told(line.key, line.verdict, words.name, words.why if line.verdict == DEFAULT[line.key] else "", line.note)
