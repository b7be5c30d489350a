"""The shop formulas of speed and feed, each with its source; planner, judge and papers share them.

Source of the formulas unless a function says otherwise: published shop texts (F. D. Jones, *Turning and Boring*;
university milling handouts), exact form with pi, never the rule of thumb 4 CS/D.
"""

from __future__ import annotations

import math


def rpm(cutting_speed: float, diameter: float) -> float:
    """Spindle speed in min⁻¹: n = 1000 v / (pi d), v in m/min, d in mm.

    >>> round(rpm(25, 12))
    663
    """
    return 1000 * cutting_speed / (math.pi * diameter)


def cutting_speed(revolutions: float, diameter: float) -> float:
    """Surface speed in m/min of a cutter of ``diameter`` mm at ``revolutions`` min⁻¹: v = pi d n / 1000.

    >>> round(cutting_speed(663.1, 12), 2)
    25.0
    """
    return math.pi * diameter * revolutions / 1000


def feed(chip_load: float, flutes: int, revolutions: float) -> float:
    """Feed in mm/min: chip load (mm/tooth) times flutes times min⁻¹. For a drill: feed per revolution and 1.

    >>> round(feed(0.065, 2, 663))
    86
    """
    return chip_load * flutes * revolutions


def chip_load(feed_rate: float, flutes: int, revolutions: float) -> float:
    """Feed per tooth in mm: feed (mm/min) over flutes times min⁻¹.

    >>> round(chip_load(100 * 25.4, 2, 10000) / 25.4, 3)
    0.005
    """
    return feed_rate / (flutes * revolutions)


def point_length(diameter: float, point_angle: float) -> float:
    """Height in mm of a drill's cone, (d/2) / tan(point/2); ``point_angle`` in rad; 0 for a flat end (pi).

    >>> round(point_length(10, math.radians(118)), 2), point_length(10, math.pi)
    (3.0, 0.0)
    """
    if point_angle >= math.pi - 1e-9:
        return 0.0
    return diameter / 2 / math.tan(point_angle / 2)


def cutting_power(force: float, removal_rate: float) -> float:
    """Power in W at the cutter: specific force (N/mm²) times removal rate (mm³/min).

    1 N/mm² times 1 mm³/s is 1 N mm/s, a thousandth of a watt.

    >>> cutting_power(2000, 60_000)
    2000.0
    """
    return force * removal_rate / 60 / 1000
