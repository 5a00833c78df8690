"""What goes into a drum: carbon, nitrogen, water and weight of each material.

Everything is kept on one basis, stated in the names: carbon and nitrogen per kilo of DRY matter, water per
kilo as it lies. Some handouts print %C and %N of the fresh mass; `from_fresh` divides those by the dry share
once, so that no sum downstream can apply it twice (the classic trap of published mix problems).

Sources: T1 = NRAES-54 On-Farm Composting Handbook, table A.1 and additions (read in a copy); T6 = BC
Agricultural Composting Handbook, table 3 (copy); M = from memory. All are typical values with wide ranges.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Material:
    """One ingredient. Fractions 0 to 1: `carbon_dry` and `nitrogen_dry` of dry matter, `moisture` of wet mass.

    `available` is the share of its carbon that takes part within weeks. `kg_per_litre` loose, None if unknown.
    Raises ValueError outside those ranges, or when carbon and nitrogen together exceed the dry matter.
    """

    code: str
    carbon_dry: float
    nitrogen_dry: float
    moisture: float
    available: float = 1.0
    kg_per_litre: float | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.moisture < 1 or not 0 <= self.available <= 1:
            raise ValueError(f"{self.code}: moisture is 0 up to (not) 1, available 0 to 1")
        if self.carbon_dry < 0 or self.nitrogen_dry < 0 or self.carbon_dry + self.nitrogen_dry > 1:
            raise ValueError(f"{self.code}: carbon and nitrogen are more than the dry matter that holds them")
        if self.kg_per_litre is not None and self.kg_per_litre <= 0:
            raise ValueError(f"{self.code}: a litre of it weighs something")

    @classmethod
    def from_dry(
        cls,
        code: str,
        *,
        carbon_percent: float,
        nitrogen_percent: float,
        moisture_percent: float,
        available: float = 1.0,
        kg_per_litre: float | None = None,
    ) -> "Material":
        """From percentages of the DRY matter (the usual lab sheet) and the moisture of the wet mass."""
        return cls(code, carbon_percent / 100, nitrogen_percent / 100, moisture_percent / 100, available, kg_per_litre)

    @classmethod
    def from_fresh(
        cls,
        code: str,
        *,
        carbon_percent: float,
        nitrogen_percent: float,
        moisture_percent: float,
        available: float = 1.0,
        kg_per_litre: float | None = None,
    ) -> "Material":
        """From percentages of the FRESH mass: divided by the dry share here, and nowhere else."""
        dry = 1 - moisture_percent / 100
        return cls(
            code,
            carbon_percent / 100 / dry,
            nitrogen_percent / 100 / dry,
            moisture_percent / 100,
            available,
            kg_per_litre,
        )

    @classmethod
    def from_ratio(
        cls,
        code: str,
        *,
        carbon_percent: float,
        c_to_n: float,
        moisture_percent: float,
        available: float = 1.0,
        kg_per_litre: float | None = None,
    ) -> "Material":
        """From the dry carbon and the C:N ratio; nitrogen follows. ValueError unless C:N is above 0."""
        if c_to_n <= 0:
            raise ValueError(f"{code}: C:N must be above 0")
        return cls(
            code,
            carbon_percent / 100,
            carbon_percent / 100 / c_to_n,
            moisture_percent / 100,
            available,
            kg_per_litre,
        )


# Share of the carbon that takes part within weeks. Chosen (published M10): 90 % of scraps', 15 % of wood's.
SCRAPS_AVAILABLE = 0.90
WOOD_AVAILABLE = 0.15
LEAF_AVAILABLE = 0.50  # chosen: between scraps and wood, as leaf litter goes within a season
PAPER_AVAILABLE = 0.40  # chosen: cellulose with more lignin the greyer it is
WOOD_CARBON_PERCENT = 50.0  # M: dry softwood

# Kitchen scraps as a building brings them. Carbon 45 % and C:N 15-19 M (middle), 80 % M, 0.45 kg/L Eawag M7.
KITCHEN_SCRAPS = Material.from_ratio(
    "kitchen_scraps",
    carbon_percent=45,
    c_to_n=17,
    moisture_percent=80,
    available=SCRAPS_AVAILABLE,
    kg_per_litre=0.45,
)
VEGETABLE_PRODUCE = Material.from_dry(  # T1: N 2.7, C:N 19, 87 %, 940 kg/m3 (stacked whole)
    "vegetable_produce",
    carbon_percent=2.7 * 19,
    nitrogen_percent=2.7,
    moisture_percent=87,
    available=SCRAPS_AVAILABLE,
    kg_per_litre=0.94,
)
FRUIT_WASTES = Material.from_dry(  # T1: N 1.4, C:N 40, 80 %
    "fruit_wastes",
    carbon_percent=1.4 * 40,
    nitrogen_percent=1.4,
    moisture_percent=80,
    available=SCRAPS_AVAILABLE,
)
COFFEE_GROUNDS = Material.from_dry(  # T1: N 2.28, C:N 20, 75 %; nitrogen-rich though brown (common practice)
    "coffee_grounds",
    carbon_percent=2.28 * 20,
    nitrogen_percent=2.28,
    moisture_percent=75,
    available=SCRAPS_AVAILABLE,
)
EGGSHELL = Material.from_dry(  # Walton et al. 1973: N 1.2, 29 %; its carbon is mineral and counts as none
    "eggshell",
    carbon_percent=0,
    nitrogen_percent=1.2,
    moisture_percent=29,
    available=0,
)
LEAVES = Material.from_dry(  # T6: N 0.9, C:N 54, 38 %; 60-80 kg/m3
    "leaves",
    carbon_percent=0.9 * 54,
    nitrogen_percent=0.9,
    moisture_percent=38,
    available=LEAF_AVAILABLE,
    kg_per_litre=0.07,
)
# T6 prints sawdust as N 0.24 and C:N 442: averages of different samples, together 106 % carbon. The ratio is
# kept and wood's carbon taken, or the sum would hold more carbon than wood.
SAWDUST = Material.from_ratio(
    "sawdust",
    carbon_percent=WOOD_CARBON_PERCENT,
    c_to_n=442,
    moisture_percent=39,
    available=WOOD_AVAILABLE,
    kg_per_litre=0.237,
)
SHAVINGS = Material.from_ratio(  # M: C:N 641; air-dry 15 % and 0.10 kg/L loose, both from memory
    "shavings",
    carbon_percent=WOOD_CARBON_PERCENT,
    c_to_n=641,
    moisture_percent=15,
    available=WOOD_AVAILABLE,
    kg_per_litre=0.10,
)
PELLETS = Material.from_ratio(  # EN 14961-2 data sheet: 600-680 kg/m3, up to 10 %; as softwood, 500-640 M
    "pellets",
    carbon_percent=WOOD_CARBON_PERCENT,
    c_to_n=570,
    moisture_percent=8,
    available=WOOD_AVAILABLE,
    kg_per_litre=0.65,
)
STRAW = Material.from_dry(  # T6: N 0.7, C:N 80, 12 %; 34-224 kg/m3, loose 0.06 M
    "straw",
    carbon_percent=0.7 * 80,
    nitrogen_percent=0.7,
    moisture_percent=12,
    available=LEAF_AVAILABLE,
    kg_per_litre=0.06,
)
CARDBOARD = Material.from_dry(  # T6: N 0.10, C:N 563, 8 %, 154 kg/m3
    "cardboard",
    carbon_percent=0.10 * 563,
    nitrogen_percent=0.10,
    moisture_percent=8,
    available=PAPER_AVAILABLE,
    kg_per_litre=0.154,
)
BROWNS = (PELLETS, SHAVINGS, SAWDUST, LEAVES, STRAW, CARDBOARD)
MATERIALS = (KITCHEN_SCRAPS, VEGETABLE_PRODUCE, FRUIT_WASTES, COFFEE_GROUNDS, EGGSHELL, *BROWNS)
