"""What people write at the head of a column and in its cells, in the four languages. The first word of each
language is the one that a template prints.

Looked up without case, accents, points, dashes and doubled spaces (see `plain`), so each stands here once.
"""

import unicodedata
from collections.abc import Mapping

Words = Mapping[str, tuple[str, ...]]

HOUSEHOLD: Words = {
    "en": ("household", "flat", "apartment", "home", "label", "household label"),
    "es": ("hogar", "vivienda", "piso", "casa", "apartamento"),
    "fr": ("foyer", "ménage", "logement", "appartement"),
    "ar": ("الأسرة", "أسرة", "الشقة", "شقة", "المنزل"),
}
DRUM: Words = {
    "en": ("drum", "drum number", "drum no"),
    "es": ("tambor", "bombo", "compostador", "número de tambor"),
    "fr": ("tambour", "composteur", "numéro du tambour"),
    "ar": ("البرميل", "برميل", "رقم البرميل"),
}
DATE: Words = {
    "en": ("date", "day"),
    "es": ("fecha", "día"),
    "fr": ("date", "jour"),
    "ar": ("التاريخ", "تاريخ", "اليوم"),
}
TIME: Words = {
    "en": ("time", "hour"),
    "es": ("hora",),
    "fr": ("heure",),
    "ar": ("الوقت", "الساعة"),
}

# kind of sheet -> field -> words at the head of its column
HEADINGS: Mapping[str, Mapping[str, Words]] = {
    "households": {
        "household": HOUSEHOLD,
        "people": {
            "en": ("people", "names", "name", "people names", "persons"),
            "es": ("personas", "nombres", "nombre"),
            "fr": ("personnes", "noms", "nom"),
            "ar": ("الأشخاص", "الأسماء", "الاسم"),
        },
        "email": {
            "en": ("e-mail", "email", "mail", "e-mail address"),
            "es": ("correo electrónico", "correo"),
            "fr": ("courriel", "adresse e-mail", "mél"),
            "ar": ("البريد الإلكتروني", "البريد"),
        },
        "drum": DRUM,
        "joined": {
            "en": ("joined", "since", "joined on"),
            "es": ("desde", "alta", "fecha de alta"),
            "fr": ("depuis", "arrivée", "date d'arrivée"),
            "ar": ("منذ", "تاريخ الانضمام"),
        },
    },
    "contributions": {
        "date": DATE,
        "time": TIME,
        "household": HOUSEHOLD,
        "drum": DRUM,
        "pails": {
            "en": ("pails", "buckets", "pail"),
            "es": ("cubos", "baldes", "cubo"),
            "fr": ("seaux", "seau"),
            "ar": ("الدلاء", "دلاء", "دلو"),
        },
        "kilograms": {
            "en": ("kilograms", "kg", "kilos", "weight kg"),
            "es": ("kilogramos", "peso kg"),
            "fr": ("kilogrammes", "poids kg"),
            "ar": ("كيلوغرام", "كيلو", "كغ", "كجم"),
        },
        "pounds": {
            "en": ("pounds", "lb", "lbs", "weight lb"),
            "es": ("libras", "peso lb"),
            "fr": ("livres", "poids lb"),
            "ar": ("رطل", "أرطال"),
        },
        # Without a unit: in that of the building.
        "weight": {"en": ("weight",), "es": ("peso",), "fr": ("poids",), "ar": ("الوزن",)},
        "cups": {
            "en": ("cups of browns", "cups", "browns"),
            "es": ("tazas de secos", "tazas", "secos"),
            "fr": ("tasses de matière sèche", "tasses", "matière sèche"),
            "ar": ("أكواب المواد الجافة", "أكواب", "الأكواب"),
        },
    },
    "visits": {
        "date": DATE,
        "time": TIME,
        "drum": DRUM,
        "hatch": {
            "en": ("hatch", "chamber", "hatch letter"),
            "es": ("trampilla", "compartimento", "boca"),
            "fr": ("trappe", "compartiment"),
            "ar": ("الفتحة", "فتحة"),
        },
        "turned": {
            "en": ("turned", "turn"),
            "es": ("volteado", "girado", "vuelta"),
            "fr": ("tourné", "retourné"),
            "ar": ("التقليب", "تم التقليب"),
        },
        "level": {
            "en": ("level", "how full", "fill"),
            "es": ("nivel", "llenado"),
            "fr": ("niveau", "remplissage"),
            "ar": ("المستوى", "الامتلاء"),
        },
        "trouble": {
            "en": ("trouble", "problem", "problems"),
            "es": ("problema", "problemas"),
            "fr": ("problème", "problèmes"),
            "ar": ("مشكلة", "المشكلة"),
        },
    },
}
NEEDED: Mapping[str, tuple[str, ...]] = {
    "households": ("household",),
    "contributions": ("date", "household"),
    "visits": ("date", "drum"),
}

YES = ("yes", "y", "true", "1", "x", "✓", "✔", "sí", "s", "oui", "o", "vrai", "نعم")
NO = ("no", "n", "false", "0", "-", "non", "faux", "لا")
HATCHES: Mapping[str, tuple[str, ...]] = {
    "A": ("a", "أ", "circle", "círculo", "rond", "دائرة"),
    "B": ("b", "ب", "square", "cuadrado", "carré", "مربع"),
}
LEVELS: Mapping[str, tuple[str, ...]] = {
    "empty": ("empty", "nearly empty", "0", "0 %", "vacío", "casi vacío", "vide", "presque vide", "فارغ"),
    "quarter": ("quarter", "a quarter", "1/4", "¼", "25", "25 %", "un cuarto", "cuarto", "un quart", "quart", "ربع"),
    "half": ("half", "1/2", "½", "50", "50 %", "medio", "mitad", "la mitad", "moitié", "la moitié", "à moitié", "نصف"),
    "three_quarters": (
        "three quarters", "three_quarters", "3/4", "¾", "75", "75 %", "tres cuartos", "trois quarts", "ثلاثة أرباع",
    ),
    "full": ("full", "100", "100 %", "4/4", "lleno", "plein", "ممتلئ"),
}  # fmt: skip
TROUBLES: Mapping[str, tuple[str, ...]] = {
    "nothing": (
        "nothing", "nothing wrong", "none", "no", "ok", "nada", "ninguno", "rien", "aucun", "non", "لا شيء", "لا",
    ),
    "smell": ("smell", "bad smell", "mal olor", "olor", "odeur", "mauvaise odeur", "رائحة", "رائحة كريهة"),
    "rotten": ("rotten", "smells rotten", "podrido", "huele a podrido", "pourri", "عفن", "رائحة عفن"),
    "ammonia": ("ammonia", "sharp", "smells sharp", "amoníaco", "ammoniac", "odeur piquante", "أمونيا", "نشادر"),
    "sour": ("sour", "smells sour", "vinegar", "agrio", "ácido", "vinagre", "aigre", "vinaigre", "حامض", "خل"),
    "wet": ("wet", "too wet", "mojado", "demasiado húmedo", "trop humide", "رطب"),
    "leaking": ("leaking", "leak", "dark liquid", "fuga", "líquido oscuro", "fuite", "liquide foncé", "تسرب"),
    "dry": ("dry", "too dry", "dusty", "seco", "demasiado seco", "sec", "trop sec", "جاف", "جاف جدًا"),
    "sweet_damp": ("damp and sweet", "sweet", "húmedo y dulce", "humide et sucré", "رطب وحلو"),
    "cold": ("cold", "frío", "froid", "بارد"),
    "too_hot": ("too hot", "hot", "demasiado caliente", "trop chaud", "ساخن جدًا"),
    "matted": ("matted", "mats", "lumps", "balls", "grumos", "bolas", "grumeaux", "boules", "كتل"),
    "pieces": ("big pieces", "pieces", "trozos grandes", "gros morceaux", "قطع كبيرة"),
    "not_done": ("not finished", "not done", "sin terminar", "pas fini", "لم ينضج"),
    "animals": ("animals", "flies or animals", "animales", "animaux", "حيوانات"),
    "flies": ("flies", "moscas", "mouches", "ذباب"),
    "larvae": ("larvae", "maggots", "larvas", "larves", "يرقات"),
    "rodents": ("rats", "rat", "mouse", "mice", "droppings", "ratas", "ratones", "souris", "جرذان", "فئران"),
    "hard_to_turn": ("hard to turn", "cuesta girar", "dur à tourner", "صعب التقليب"),
    "wrong_item": ("wrong item", "wrong_item", "objeto equivocado", "intruso", "objet interdit", "intrus", "شيء خاطئ"),
    "broken": ("broken", "something is broken", "roto", "averiado", "cassé", "abîmé", "مكسور", "معطل"),
}  # fmt: skip


# Until these had a word of their own, sheets with it were kept under another: so a sheet of then adds nothing today.
FORMERLY: Mapping[str, str] = {"flies": "animals", "rodents": "animals", "leaking": "wet"}


def plain(text: str) -> str:
    """A word as it is looked up: no case, no accents or vowel signs, nothing but letters, digits and spaces."""
    spread = unicodedata.normalize("NFKD", text.casefold())
    bare = (sign for sign in spread if not unicodedata.combining(sign) and sign != "ـ")
    kept = "".join(sign if sign.isalnum() or sign in "✓✔⁄/" else " " for sign in bare)
    return " ".join(kept.replace("⁄", "/").split())


# One weight, in whichever of these columns it stands.
WEIGHTS = ("kilograms", "pounds", "weight")


def offered(kind: str, *, is_us: bool) -> Mapping[str, Words]:
    """The columns that an empty sheet of a kind has: the weight in the unit of its building."""
    left_out = {"weight", "kilograms" if is_us else "pounds"}
    return {field: words for field, words in HEADINGS[kind].items() if field not in left_out}


def field_of(kind: str, heading: str) -> str | None:
    """The field that a column is, by what stands at its head; None for an unknown one."""
    return _FIELDS[kind].get(plain(heading))


def word_of(table: Mapping[str, tuple[str, ...]], cell: str) -> str | None:
    """The code of a word in a cell; None for an unknown one."""
    wanted = plain(cell) or cell
    return next((code for code, words in table.items() if wanted in {plain(word) or word for word in words}), None)


def is_yes(cell: str) -> bool | None:
    """Yes or no as written in a cell; None for neither. Empty is no: nobody ticked it."""
    code = word_of({"yes": YES, "no": NO}, cell) if cell else "no"
    return None if code is None else code == "yes"


_FIELDS = {
    kind: {plain(word): field for field, words in fields.items() for many in words.values() for word in many}
    for kind, fields in HEADINGS.items()
}
