"""What becomes of a material's dry matter: gone within days, within months, wood, or never.

No handbook prints this split; studies fit first-order pools to curves of carbon dioxide, and differ as much as their
scraps. So each row is (chosen) near what such fits give for its kind, all are stretched together by a parameter of
the model, and a site's finished batches pull that. Ash from memory (M): share of dry matter left after burning.
"""

from dataclasses import dataclass

from bins.process.material import Material
from bins.process.materials import MATERIALS

SUM_IS_ONE = 1e-9  # chosen: five decimal fractions summed in floats


@dataclass(frozen=True, slots=True)
class Split:
    """Shares of dry matter that sum to 1.

    fast: sugars, starch, protein, fat; slow: cellulose in reach; wood: lignified browns; inert: organic matter that
    outlives the batch; ash: mineral. ValueError otherwise.
    """

    fast: float
    slow: float
    wood: float
    inert: float
    ash: float

    def __post_init__(self) -> None:
        shares = (self.fast, self.slow, self.wood, self.inert, self.ash)
        if min(shares) < 0 or abs(sum(shares) - 1) > SUM_IS_ONE:
            raise ValueError(f"shares of dry matter sum to 1: {shares}")


SPLITS: dict[str, Split] = {
    # Two thirds of scraps' dry matter go in a first rush (chosen); ash of mixed food waste about 10 % (M).
    "kitchen_scraps": Split(0.50, 0.23, 0.00, 0.17, 0.10),
    "vegetable_produce": Split(0.53, 0.23, 0.00, 0.14, 0.10),
    "fruit_wastes": Split(0.56, 0.23, 0.00, 0.16, 0.05),
    # Spent grounds keep fat and hemicellulose, and a third lignin-like matter (M); ash 2 %.
    "coffee_grounds": Split(0.25, 0.40, 0.00, 0.33, 0.02),
    "eggshell": Split(0.03, 0.02, 0.00, 0.00, 0.95),  # 5 % membrane and protein (M), the rest carbonate
    # Browns: what is degradable in a season is `available` of materials.py; the rest is wood.
    "leaves": Split(0.08, 0.32, 0.42, 0.08, 0.10),  # ash 10 % (M), street leaves carry more
    "straw": Split(0.05, 0.40, 0.41, 0.07, 0.07),  # ash 7 % (M)
    "cardboard": Split(0.00, 0.36, 0.50, 0.06, 0.08),  # ash 8 %, fillers (M)
    "sawdust": Split(0.01, 0.14, 0.845, 0.00, 0.005),  # ash 0.5 % (M)
    "shavings": Split(0.01, 0.14, 0.845, 0.00, 0.005),
    "pellets": Split(0.01, 0.14, 0.845, 0.00, 0.005),
}
BY_CODE: dict[str, Material] = {material.code: material for material in MATERIALS}
