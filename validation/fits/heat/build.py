"""The fitted model in the form the package uses."""

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.heat_model import Ceiling, Drying, HeatResistance, Lasting
from validation.fits.heat.evidence import slow_heating
from validation.fits.heat.resistance import Fitted

KEYS = {"Salmonella": "salmonella", "E. coli": "e_coli", "L. monocytogenes": "listeria"}
OTHERS = ("slope", "low", "rise", "linear", "whole", "fat", "cure", "ln_width", "hinge")
COOLEST_C, HOTTEST_C = 50.0, 90.0  # of the D values: wet from 48.9 degC, dry to 90 degC
COLD_SLOPE = 0.3  # 1/K; a judgement: D tenfold over per 2 K below the coolest published, so that credit ends without a step
# What no D value tells. Mean and spread are a prior, `laws` and `liquid` bring the posterior. The drying term fades
# in: the meat of
# the coolest study (air of 52 degC) stood near 50 degC, and the shortest schedule (1.5 h) was warm
# and dry for half an hour to an hour.
DRYING = Drying(
    mean=4.0, sd=1.5, cool_K=45.0 + ZERO_CELSIUS, warm_K=50.0 + ZERO_CELSIUS, fall=0.2, hours_s=1800.0
)
RAPID, LONG = Ceiling(mean=5.0, sd=1.0), Ceiling(mean=7.5, sd=1.0)
# A judgement. The longest heating that was counted right afterwards (rows 7 to 9 of the challenge studies) leaves a surface at
# 71 degC and more for half a minute; what sits in folds is reached in minutes. Without an end to quick heat, slices that
# stayed in boiling water for an hour would count as less reduced than ones that were taken out at once, as they dry faster.
# z is that of a resistant fraction (Juneja et al. 2012: D 52 min at 55 degC, 1.49 min at 71 degC; row W16 of the dips).
LASTING = Lasting(hot_K=71.1 + ZERO_CELSIUS, z_K=10.0, quick_s=60.0, long_s=300.0)


def built(
    fitted: Fitted,
    drying: Drying = DRYING,
    rapid: Ceiling = RAPID,
    depth_m: float = 0.3e-3,
) -> HeatResistance:
    """Return the package's model of a fit."""
    names = [*KEYS, *OTHERS]
    where = [fitted.names.index(name) for name in names]
    return HeatResistance(
        names=(*KEYS.values(), *OTHERS),
        mean=fitted.mean[where],
        covariance=np.array(fitted.cov[np.ix_(where, where)]),
        between=dict(fitted.spreads),
        slow=slow_heating(),
        coolest_K=COOLEST_C + ZERO_CELSIUS,
        cold_slope=COLD_SLOPE,
        hottest_K=HOTTEST_C + ZERO_CELSIUS,
        ceilings={"rapid": rapid, "long": LONG},
        lasting=LASTING,
        drying=drying,
        depth_m=depth_m,
    )
