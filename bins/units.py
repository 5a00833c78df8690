"""Pounds, US gallons and fluid ounces beside grams and millilitres, in which the books are kept."""

G_PER_LB = 453.59237  # international avoirdupois pound, exact by definition (1959)
G_PER_OZ = G_PER_LB / 16
ML_PER_GALLON = 3785.411784  # US liquid gallon, exact by definition (231 cubic inches)
ML_PER_FL_OZ = ML_PER_GALLON / 128  # US fluid ounce

US = "us"  # what a form says in its field `units`, where its weights are pounds and its volumes gallons
