"""Published constants, each with its source and what is known of the range in which it was fitted.

They are shapes to start from, not the shop's resin: anchor one to the data sheet (`gelation.anchored`) and to the shop's own gels.
`temps_mc` is None where the source that the constants were read in does not say.
"""

from __future__ import annotations

from types import MappingProxyType

from inventory.core.kinetics import GAS, ZERO_C_K, Arrhenius, Fitted, FreeVolume, Kamal, Logistic, TwoRegime
from inventory.core.said import say

_MIN = 60.0


def _rounded(e: float) -> float:
    """An activation energy that was fitted with R = 8.314: only E/R counts, so the finer R of this project must not change it."""
    return e * GAS / 8.314


INFUSION = Fitted(
    say("infusion epoxy, autocatalytic with diffusion"),
    say("fitted to calorimetry; a university's published course notebook on cure kinetics"),
    Kamal(1.67, k2=Arrhenius(681_085, 59_291), m=0.12, brake=Logistic(47.7, 0.77, 0.0016, in_celsius=True)),
    temps_mc=None,
    seed=1e-4,
)
PREPREG = Fitted(
    say("aerospace prepreg epoxy, autocatalytic with diffusion"),
    say("constants repeated in three public files that cite Johnston 1997; form of Hubert and others"),
    Kamal(2.736, k2=Arrhenius(1.528e5, _rounded(6.65e4)), m=0.8129, brake=Logistic(43.09, -1.684, 5.475e-3, in_celsius=False)),
    temps_mc=None,
    seed=0.01,
    heat_j_kg=540_000,
)
TWO_REGIME = Fitted(
    say("aerospace prepreg epoxy, two regimes"),
    say("Lee, Loos and Springer 1982, J. Composite Materials 16 (constants other than k3 from memory, checked by a published time)"),
    TwoRegime(
        Arrhenius(2.101e9 / _MIN, _rounded(8.07e4)),
        Arrhenius(-2.014e9 / _MIN, _rounded(7.78e4)),
        Arrhenius(1.960e5 / _MIN, _rounded(5.66e4)),
        b=0.47,
        switch=0.3,
    ),
    temps_mc=None,
)
# Its diffusion rules from conversion 0 at room temperature (ten kelvins make a factor of five): that is outside what it was fitted to.
# Its source, as it was read here, does not say where exactly the fit begins and ends: the range is that of the values it was checked with
# and which diffusion does not rule.
INFUSION_WARM = Fitted(
    say("room-temperature infusion epoxy, diffusion by free volume"),
    say("public file citing Thermochim. Acta 2015, doi 10.1016/j.tca.2015.11.014"),
    Kamal(
        1.5361,
        k1=Arrhenius(35_982, 54_960),
        k2=Arrhenius(3574.1, 44_289),
        m=0.39845,
        brake=FreeVolume(Arrhenius(7e18, 137_300), 0.009, 4.8e-4, 0.025, ZERO_C_K - 57, ZERO_C_K + 91, 0.36903),
    ),
    temps_mc=(50_000, 80_000),
)
ROOM = Fitted(
    say("room-temperature infusion epoxy, plain"),
    say("an institute's own fit, in the same public file as the set with diffusion"),
    Kamal(1.6174, k1=Arrhenius(2e5, 63_268), k2=Arrhenius(118_000, 55_158), m=0.3045),
    temps_mc=None,
    heat_j_kg=450_000,
)

SETS = MappingProxyType({"infusion": INFUSION, "prepreg": PREPREG, "two regimes": TWO_REGIME, "infusion warm": INFUSION_WARM, "room": ROOM})
"""By the short name under which a system refers to them."""
