"""Typical materials of a building's drum. All ranges are wide: a site that has measured uses its own numbers.

Sources: T1 = NRAES-54 On-Farm Composting Handbook, table A.1 and additions (read in a copy); T6 = BC
Agricultural Composting Handbook, table 3 (copy); M = from memory.
"""

from bins.process.material import Material

# Share of the carbon that takes part within weeks. Chosen: 90 % of scraps', 15 % of wood's.
SCRAPS_AVAILABLE = 0.90
WOOD_AVAILABLE = 0.15
LEAF_AVAILABLE = 0.50  # chosen: between scraps and wood, as leaf litter goes within a season
PAPER_AVAILABLE = 0.40  # chosen: cellulose with more lignin the greyer it is
WOOD_CARBON_PERCENT = 50.0  # M: dry softwood

# Kitchen scraps as a building brings them. Carbon 45 %, C:N 15-19 and 80 % moisture from memory; 0.45 kg/L
# Eawag/Sandec after Cooperband 2002.
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
WATER = Material("water", 0.0, 0.0, 0.999, kg_per_litre=1.0)  # a material has some dry matter; a thousandth of none
BROWNS = (PELLETS, SHAVINGS, SAWDUST, LEAVES, STRAW, CARDBOARD)
BROWNS_BY_CODE = {material.code: material for material in BROWNS}
MATERIALS = (KITCHEN_SCRAPS, VEGETABLE_PRODUCE, FRUIT_WASTES, COFFEE_GROUNDS, EGGSHELL, *BROWNS)
