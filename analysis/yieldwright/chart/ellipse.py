"""Error ellipses of yield and strength."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

__all__ = ["ELLIPSE_LEVEL", "ellipse_points", "error_ellipses"]

#: Share of repeated measurements an ellipse is meant to hold.
ELLIPSE_LEVEL = 0.95


def error_ellipses(
    u_ey_pct: pd.Series[float],
    u_tds_pct: pd.Series[float],
    cov_tds_ey: pd.Series[float],
    *,
    level: float = ELLIPSE_LEVEL,
) -> pd.DataFrame:
    r"""Return the shape of each shot's error ellipse, yield across and strength up.

    Parameters
    ----------
    u_ey_pct : Series
        Standard uncertainty of the extraction yield. [% by mass]
    u_tds_pct : Series
        Standard uncertainty of the strength. [% by mass]
    cov_tds_ey : Series
        Covariance of the two. [(% by mass)²]
    level : float
        Share of repeated measurements to hold. [1]

    Returns
    -------
    DataFrame
        One row per shot: `half_length` and `half_width`, the half axes in % by mass,
        and `tilt_deg`, the angle of the long axis from the yield axis in degrees.

    Notes
    -----
    Half axes are the roots of the covariance matrix's eigenvalues times the root of the
    chi-square quantile with two degrees of freedom, −2 ln(1 − level): 5.991 for 95 %.

    References
    ----------
    .. [1] JCGM 102:2011, 6.5.2: a coverage region in the shape of an ellipse.

    Examples
    --------
    >>> one = pd.Series([1.0])
    >>> error_ellipses(2 * one, one, 0 * one).round(3).to_dict("records")
    [{'half_length': 4.895, 'half_width': 2.448, 'tilt_deg': 0.0}]
    """
    across, up, tilt = (
        np.asarray(each, dtype=float) for each in (u_ey_pct, u_tds_pct, cov_tds_ey)
    )
    across, up = across**2, up**2
    spread = np.hypot((across - up) / 2, tilt)
    larger = (across + up) / 2 + spread
    determinant = np.clip(across * up - tilt**2, 0, None)
    with np.errstate(invalid="ignore"):
        smaller = np.where(larger > 0, determinant / larger, larger)
    quantile = -2 * math.log1p(-level)
    return pd.DataFrame(
        {
            "half_length": np.sqrt(quantile * larger),
            "half_width": np.sqrt(quantile * smaller),
            "tilt_deg": np.degrees(np.arctan2(2 * tilt, across - up)) / 2,
        },
        index=u_ey_pct.index,
    )


def ellipse_points(
    ey_pct: float,
    tds_pct: float,
    *,
    half_length: float,
    half_width: float,
    tilt_deg: float,
    n_points: int = 61,
) -> pd.DataFrame:
    """Return points along one ellipse, the last one equal to the first.

    Parameters
    ----------
    ey_pct : float
        Extraction yield at its middle. [% by mass]
    tds_pct : float
        Strength at its middle. [% by mass]
    half_length : float
        Half of its long axis. [% by mass]
    half_width : float
        Half of its short axis. [% by mass]
    tilt_deg : float
        Angle of the long axis from the yield axis. [°]
    n_points : int
        How many.

    Returns
    -------
    DataFrame
        One row per point: `ey_pct` and `tds_pct`.

    Examples
    --------
    >>> shape = {"half_length": 0.5, "half_width": 0.1, "tilt_deg": 0.0}
    >>> ellipse_points(20.0, 9.0, **shape, n_points=3)["ey_pct"].round(9).tolist()
    [20.5, 19.5, 20.5]
    """
    turn = np.linspace(0, 2 * np.pi, n_points)
    along, beside = half_length * np.cos(turn), half_width * np.sin(turn)
    cosine, sine = math.cos(math.radians(tilt_deg)), math.sin(math.radians(tilt_deg))
    return pd.DataFrame(
        {
            "ey_pct": ey_pct + along * cosine - beside * sine,
            "tds_pct": tds_pct + along * sine + beside * cosine,
        }
    )
