"""Snow on a roof from snow on the ground: ASCE 7-16 chapter 7 in numbers, and what ASCE 7-22 changed. psf, feet, pcf.

ASCE 7-22 gives ground snow at strength level, one map for each risk category: no importance factor any more, a drift
that depends on the winter's wind, and 0.7 S in allowable-stress combinations. Its own formulas are used for it, since
the older drift formula would be too low in windy places.

Sources: values.md §5.3 with its tags; from a published reading of both editions (not the standards themselves): √Is in
the drift height of 7-16 (Figure 7.6-1), the drift height (Eq. 7.6-1), the least snow (Table 7.3-4) and the curves of Cs
(§7.4.4) of 7-22. Both want checking against the standards before they are relied on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from trusses.analysis.words.refusal import Refusal

EDITIONS = ("7-16", "7-22")
SURFACES = ("other", "slippery")
#: Importance factor of risk categories I to IV (ASCE 7-16 Table 1.5-2), and the least snow of 7-22 (Table 7.3-4), psf.
_RISK = {0.8: ("I", 25.0), 1.0: ("II", 30.0), 1.1: ("III", 35.0), 1.2: ("IV", 40.0)}
#: Least snow is for roofs under this slope, degrees.
LOW_SLOPE = 15.0
#: Thermal factor of a cold ventilated attic (Table 7.3-2), with R-25 or more in 7-16.
_VENTILATED = {"7-16": 1.1, "7-22": 1.2}
#: Slopes, rise over run, between which a gable or hip roof has unbalanced snow: 1/2 in 12 to 7 in 12 (§7.6.1).
DRIFTING = (0.5 / 12, 7 / 12)
#: The share of the balanced snow that stays on the windward side (§7.6.1).
WINDWARD = 0.3
#: What allowable-stress combinations take of a snow load at strength level (ASCE 7-22 §2.4.1).
_ASD_SHARE = 0.7
_BOUNDS = {
    "ground_snow": ("Ground snow", "psf", 0.0, 400.0),
    "exposure": ("Exposure factor Ce", "", 0.7, 1.2),
    "thermal": ("Thermal factor Ct", "", 0.85, 1.3),
    "winter_wind": ("Winter wind parameter W2", "", 0.1, 0.9),
}


class SnowError(Refusal):
    """A site or a roof for which no snow can be built; `place` names the parameter, or is empty."""


@dataclass(frozen=True, slots=True)
class Site:
    """What the snow depends on besides the roof's shape.

    `ground_snow` pg in psf; at strength level with the edition 7-22. `exposure` Ce. `thermal` Ct; None is that of a
    cold ventilated attic. `importance` Is, one of Table 1.5-2; with 7-22 it only tells the risk category. `surface`
    "slippery" is an unobstructed slippery one with room below the eaves. `winter_wind` W2 belongs to 7-22. Raises
    SnowError.
    """

    ground_snow: float
    exposure: float = 1.0
    thermal: float | None = None
    importance: float = 1.0
    surface: str = "other"
    snow_edition: str = "7-16"
    winter_wind: float | None = None

    def __post_init__(self) -> None:
        for name, (label, unit, least, most) in _BOUNDS.items():
            value = getattr(self, name)
            if value is None and name in ("thermal", "winter_wind"):
                continue
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if not number or not least <= value <= most or value == 0:
                raise SnowError("snow-number", name, label=label, unit=unit, least=least, most=most)
        if self.importance not in _RISK:
            raise SnowError("snow-importance", "importance")
        if self.surface not in SURFACES:
            raise SnowError("snow-surface", "surface", surfaces=list(SURFACES))
        if self.snow_edition not in EDITIONS:
            raise SnowError("snow-edition", "snow_edition", editions=list(EDITIONS))
        if self.winter_wind is not None and not self.strength_level:
            raise SnowError("winter-wind-needless", "winter_wind")

    @property
    def strength_level(self) -> bool:
        return self.snow_edition == "7-22"

    @property
    def ct(self) -> float:
        """Ct, as given or of a cold ventilated attic."""
        return _VENTILATED[self.snow_edition] if self.thermal is None else self.thermal

    @property
    def risk_category(self) -> str:
        return _RISK[self.importance][0]

    @property
    def asd_share(self) -> float:
        """What of the loads of this edition stands in allowable-stress combinations as S."""
        return _ASD_SHARE if self.strength_level else 1.0

    @property
    def flat_psf(self) -> float:
        """pf, snow on a flat roof (Eq. 7.3-1), psf."""
        importance = 1.0 if self.strength_level else self.importance
        return 0.7 * self.exposure * self.ct * importance * self.ground_snow

    @property
    def least_psf(self) -> float:
        """pm, the least snow on roofs of low slope (§7.3.4; 7-22 Table 7.3-4), psf: a case of its own."""
        if self.strength_level:
            return min(self.ground_snow, _RISK[self.importance][1])
        return self.importance * min(self.ground_snow, 20.0)

    @property
    def density_pcf(self) -> float:
        """γ, density of drifted snow (Eq. 7.7-1), pcf."""
        return min(0.13 * self.ground_snow + 14, 30.0)

    def sloped_psf(self, degrees: float) -> float:
        """ps, balanced snow on a slope (Eq. 7.4-1), psf on the plan."""
        return slope_factor(degrees, self.ct, self.surface == "slippery", self.snow_edition) * self.flat_psf

    def drift_ft(self, fetch_ft: float) -> float:
        """hd, height of the drift behind `fetch_ft` of windward roof, feet (Figure 7.6-1; 7-22 Eq. 7.6-1)."""
        if not self.strength_level:
            fetch_ft = max(fetch_ft, 20.0)
            height = 0.43 * fetch_ft ** (1 / 3) * (self.ground_snow + 10) ** 0.25 - 1.5
            return max(0.0, math.sqrt(self.importance) * height)
        if self.winter_wind is None:
            raise SnowError("winter-wind-missing", "winter_wind")
        drifting = self.ground_snow**0.74 * fetch_ft**0.70 * self.winter_wind**1.7
        return 1.5 * math.sqrt(drifting / self.density_pcf)

    def surcharge(self, fetch_ft: float, run: float) -> tuple[float, float]:
        """The drift's rectangle on a leeward slope of `run` for a rise of one: psf, feet from the ridge (§7.6.1)."""
        height = self.drift_ft(fetch_ft)
        return height * self.density_pcf / math.sqrt(run), 8 / 3 * height * math.sqrt(run)

    def __str__(self) -> str:
        factors = f"Ce {self.exposure:g}, Ct {self.ct:g}"
        surface = ", slippery" if self.surface == "slippery" else ""
        if not self.strength_level:
            return f"ASCE 7-16 from pg {self.ground_snow:g} psf ({factors}, Is {self.importance:g}{surface})"
        wind = "" if self.winter_wind is None else f", W2 {self.winter_wind:g}"
        level = f"pg {self.ground_snow:g} psf at strength level"
        factors += f", risk {self.risk_category}{wind}{surface}"
        return f"ASCE 7-22, times {_ASD_SHARE:g} for ASD, from {level} ({factors})"


def slope_factor(degrees: float, thermal: float, slippery: bool, edition: str = "7-16") -> float:
    """Cs of a slope (§7.4, Figure 7.4-1): 1 up to a knee, then in a straight line to 0 at 70°."""
    warm = thermal <= (1.1 if edition == "7-22" else 1.0)
    curve = 0 if warm else 1 if thermal < 1.2 else 2
    knee = ((30.0, 5.0), (37.5, 10.0), (45.0, 15.0))[curve][slippery]
    return min(1.0, max(0.0, (70 - degrees) / (70 - knee)))
