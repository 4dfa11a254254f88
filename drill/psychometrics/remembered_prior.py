"""The prior for the placement of a new block, with the slope remembered from earlier blocks."""

import math
from collections.abc import Sequence

import numpy as np

from drill.core.errors import UserError
from drill.psychometrics.grid import SLOPE_GRID_PER_DB, Prior
from drill.psychometrics.posterior import Estimate

_MIN_SLOPE_LOG_SD = 0.2
"""A remembered slope gets at least this log SD, because the slope varies from day to day."""


def prior_from_estimates(estimates: Sequence[Estimate]) -> Prior:
    """Return the prior for a new block, with the slope remembered from earlier blocks.

    estimates: one for each earlier block, each fitted alone, oldest first. The slope information
    that each block adds to its own prior is combined with the prior of the first block; the log SD
    of the result is at least 0.2. The prior mean of the threshold is the x50 of the last block with
    the SD of the first prior, so earlier blocks do not narrow the threshold of a new one. The lapse
    rate has the weights of a placement.

    Raises: UserError if there is no estimate.
    """
    if not estimates:
        raise UserError("there is no earlier block to remember a slope from")
    first = estimates[0].prior
    precision = first.slope_log_sd**-2
    weighted_sum = precision * math.log(first.slope_per_db)
    for estimate in estimates:
        log_slopes, weight = np.log(estimate.posterior.slope_per_db), estimate.posterior.weight
        mean = float(weight @ log_slopes)
        sd = estimate.widening * math.sqrt(float(weight @ (log_slopes - mean) ** 2))
        prior_precision = estimate.prior.slope_log_sd**-2
        added = max(0.0, sd**-2 - prior_precision)
        if added:
            precision += added
            weighted_sum += sd**-2 * mean - prior_precision * math.log(estimate.prior.slope_per_db)
    slope_per_db = math.exp(weighted_sum / precision)
    return Prior(
        threshold_mean_db=float(np.clip(estimates[-1].x50_db.value, -30, 30)),
        threshold_sd_db=first.threshold_sd_db,
        slope_per_db=float(np.clip(slope_per_db, SLOPE_GRID_PER_DB[0], SLOPE_GRID_PER_DB[-1])),
        slope_log_sd=max(_MIN_SLOPE_LOG_SD, precision**-0.5),
        guess_rate=first.guess_rate,
    )
