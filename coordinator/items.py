"""What goes in and what stays out, in plain words: the name of a thing, and why. One picture each stands in
templates/drawing/items/, under the same key."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext_lazy as _

from bins.accepting import DEFAULT, Line


@dataclass(frozen=True)
class Words:
    name: Any
    why: Any


ITEMS: dict[str, Words] = {
    "fruit_vegetables": Words(
        _("fruit and vegetable scraps"), _("The best food for the drum. Cut big pieces small: they go faster.")
    ),
    "coffee": Words(
        _("coffee grounds, with the paper filter"),
        _("Brown to look at, but they count with the wet scraps. Add browns to them too."),
    ),
    "tea": Words(
        _("tea leaves"), _("They count with the wet scraps. Tear the bag open: many bags are made of plastic.")
    ),
    "eggshells": Words(_("egg shells, crushed"), _("They give lime. Crushed, they do not cut your hands later.")),
    "flowers": Words(_("cut or old flowers"), _("Cut the stems short, and take off wire and ribbon.")),
    "egg_boxes": Words(_("egg boxes, torn up"), _("Plain grey ones. They count as browns.")),
    "citrus": Words(_("a lot of orange or lemon peel"), _("A little is fine. A bucket full turns the drum sour.")),
    "big_stones": Words(
        _("avocado and mango stones"), _("They take years. Some drums have a sieve that catches them.")
    ),
    "sick_plants": Words(
        _("sick or sprayed plants"), _("The drum may not get hot enough, and sprays can harm the beds.")
    ),
    "meat": Words(_("meat and bones"), _("It smells and calls rats.")),
    "fish": Words(_("fish"), _("It smells and calls rats.")),
    "dairy": Words(_("milk, cheese, yoghurt"), _("It turns sour, smells and calls rats.")),
    "fats": Words(_("oil and fat"), _("It wraps the scraps, so that no air gets to them.")),
    "cooked": Words(_("cooked food, bread, ready meals"), _("Salt and fat slow the drum, and the smell calls rats.")),
    "bags": Words(_("bags of every kind"), _("Even those sold as compostable: they need longer than a drum has.")),
    "plastic": Words(_("plastic"), _("It never goes away. It ends up in the beds, in small bits.")),
    "glass_metal": Words(_("glass and metal"), _("They cut the hands of whoever empties the drum.")),
    "stickers": Words(_("stickers on fruit"), _("They are plastic. Peel them off at home.")),
    "glossy_paper": Words(_("glossy paper"), _("The gloss is plastic or clay. Plain torn card is welcome.")),
    "pet_litter": Words(_("pet litter and droppings"), _("They can carry things that make people ill.")),
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
