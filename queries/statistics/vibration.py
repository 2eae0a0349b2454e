"""Hand-arm vibration: exposure points (ISO 5349-1, Directive 2002/44/EC)."""

# Daily exposure action and limit values, 2.5 and 5 m/s2, in points.
ACTION_POINTS = 100.0
LIMIT_POINTS = 400.0
# Hammer drills have some 8 to 16 m/s2; beyond this the decimal point slipped.
LARGEST_M_S2 = 50.0


def exposure_points(vibration_m_s2: float, trigger_s: float) -> float:
    """Return 2 a² a hour: 100 points are the action value, 400 the limit value.

    The same as 100 (A(8) / 2.5)²; points of several tools add up.
    """
    return 2 * vibration_m_s2**2 * trigger_s / 3600


def holes_until(points: float, vibration_m_s2: float, hole_s: float) -> float:
    """Return how many holes of `hole_s` trigger seconds make so many points."""
    return points / exposure_points(vibration_m_s2, hole_s)
