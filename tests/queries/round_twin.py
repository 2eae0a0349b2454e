"""The share of round figures that honest setting gives, in plain Python."""

import numpy as np
from scipy.stats import norm

# What makes rows alike: setting code and gauge step.
Like = tuple[str, float]
# Torques inside the band, by crew, day and what makes rows alike.
Inside = dict[tuple[str, str, Like], list[float]]


def honest_round_share(inside: Inside, crew: str, day: str, like: Like) -> float:
    """Return the share on tens of steps about the batch's mean, varying as others do.

    By the normal distribution itself, ten by ten.
    """
    freedom = 0
    others = []
    for (other, _, alike), torques in inside.items():
        if other != crew and alike == like:
            others.append(np.var(torques) * len(torques))
            freedom += len(torques) - 1
    own = inside.get((crew, day, like))
    if freedom < 20 or not own:
        return 0.0
    step = like[1]
    sd = max(sum(others) / freedom - step**2 / 12, (step / 2) ** 2) ** 0.5
    tens = np.arange(0, 1000) * 10 * step
    upper, lower = tens + step / 2, tens - step / 2
    at = np.mean(own)
    return float(np.sum(norm.cdf(upper, at, sd) - norm.cdf(lower, at, sd)))
