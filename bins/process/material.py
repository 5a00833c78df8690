"""One ingredient of a mix: its carbon, nitrogen, water and weight.

Everything is kept on one basis, stated in the names: carbon and nitrogen per kilo of DRY matter, water per
kilo as it lies. Some handouts print %C and %N of the fresh mass; `from_fresh` divides those by the dry share
once, so that no sum downstream can apply it twice (the classic trap of published mix problems).
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
