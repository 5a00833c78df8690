"""What a person at the drum can say is wrong with a batch. The values are stored: never rename one."""

from enum import StrEnum


class Symptom(StrEnum):
    """One complaint, told once; several may be told of one batch."""

    SMELL = "smell"  # bad, and nobody said of what
    ROTTEN = "rotten"  # of rotten eggs or cabbage
    AMMONIA = "ammonia"  # sharp, like strong cleaner
    SOUR = "sour"  # of vinegar or sick
    SWEET_DAMP = "sweet_damp"  # smells sweet, is damp, and looks as it went in
    COLD = "cold"
    TOO_HOT = "too_hot"
    DRY = "dry"
    WET = "wet"
    MATTED = "matted"  # in mats or balls
    PIECES = "pieces"  # large ones that don't rot
    LEAKING = "leaking"
    ANIMALS = "animals"  # flies or others, and nobody said which
    FLIES = "flies"
    LARVAE = "larvae"  # fat, grey-brown, a thumbnail long: of the soldier fly
    RODENTS = "rodents"
    HARD_TO_TURN = "hard_to_turn"
    NOT_DONE = "not_done"  # after months
    BROKEN = "broken"


CODES = frozenset(str(one) for one in Symptom)  # what a stored or sent word may be

# Where somebody said it nearer, the loose word adds nothing.
NEARER: dict[Symptom, frozenset[Symptom]] = {
    Symptom.SMELL: frozenset({Symptom.ROTTEN, Symptom.AMMONIA, Symptom.SOUR, Symptom.SWEET_DAMP}),
    Symptom.ANIMALS: frozenset({Symptom.FLIES, Symptom.LARVAE, Symptom.RODENTS}),
}
