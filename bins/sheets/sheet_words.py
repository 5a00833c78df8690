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
            "en": ("kilograms", "kg", "kilos", "weight", "weight kg"),
            "es": ("kilogramos", "peso", "peso kg"),
            "fr": ("kilogrammes", "poids", "poids kg"),
            "ar": ("كيلوغرام", "كيلو", "كغ", "كجم", "الوزن"),
        },
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
    "wet": ("wet", "too wet", "leaking", "mojado", "demasiado húmedo", "fuga", "trop humide", "fuite", "رطب", "تسرب"),
    "animals": (
        "animals", "flies", "rats", "rat", "flies or animals", "animales", "moscas", "ratas", "animaux", "mouches",
        "حيوانات", "ذباب", "جرذان",
    ),
    "wrong_item": ("wrong item", "wrong_item", "objeto equivocado", "intruso", "objet interdit", "intrus", "شيء خاطئ"),
    "broken": ("broken", "something is broken", "roto", "averiado", "cassé", "abîmé", "مكسور", "معطل"),
}  # fmt: skip


def plain(text: str) -> str:
    """A word as it is looked up: no case, no accents or vowel signs, nothing but letters, digits and spaces."""
    spread = unicodedata.normalize("NFKD", text.casefold())
    bare = (sign for sign in spread if not unicodedata.combining(sign) and sign != "ـ")
    kept = "".join(sign if sign.isalnum() or sign in "✓✔⁄/" else " " for sign in bare)
    return " ".join(kept.replace("⁄", "/").split())


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
