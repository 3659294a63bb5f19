"""Error ellipses: size, tilt, and how much they hold."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.chart import ellipse_points, error_ellipses

SPREAD = st.floats(0.01, 5)


def shape(u_ey: float, u_tds: float, covariance: float, **options: float) -> dict[str, float]:
    columns = (pd.Series([each]) for each in (u_ey, u_tds, covariance))
    return error_ellipses(*columns, **options).iloc[0].to_dict()


def test_half_axes_grow_with_the_root_of_the_printed_quantile() -> None:
    # NIST/SEMATECH e-Handbook 1.3.6.7.4: upper 5 % point of chi-square, 2 df, 5.991.
    found = shape(2.0, 1.0, 0.0)
    assert found["half_length"] ** 2 / 4 == pytest.approx(5.991, abs=5e-4)
    assert found["half_width"] ** 2 == pytest.approx(5.991, abs=5e-4)


def test_without_covariance_the_long_axis_follows_the_larger_uncertainty() -> None:
    assert shape(2.0, 1.0, 0.0)["tilt_deg"] == 0
    assert shape(1.0, 2.0, 0.0)["tilt_deg"] == 90


def test_a_reading_alone_tilts_the_ellipse_along_the_ratio_line() -> None:
    # With exact weights u_EY = r u_TDS and cov = r u_TDS²: the ellipse is the line of slope 1/r.
    found = shape(2.0 * 0.05, 0.05, 2.0 * 0.05**2)
    assert np.tan(np.radians(found["tilt_deg"])) == pytest.approx(1 / 2.0)
    assert found["half_width"] == pytest.approx(0, abs=1e-9)


@given(SPREAD, SPREAD, st.floats(-0.999, 0.999))
def test_half_axes_keep_the_covariance(u_ey: float, u_tds: float, rho: float) -> None:
    # Rotating a matrix keeps its determinant and its trace.
    found = shape(u_ey, u_tds, rho * u_ey * u_tds)
    long, short = found["half_length"] ** 2 / 5.991465, found["half_width"] ** 2 / 5.991465
    assert long + short == pytest.approx(u_ey**2 + u_tds**2, rel=1e-6)
    assert long * short == pytest.approx((u_ey * u_tds) ** 2 * (1 - rho**2), rel=1e-5)


@pytest.mark.parametrize("level", [0.5, 0.95])
def test_it_holds_the_share_it_promises(level: float) -> None:
    covariance = np.array([[0.125**2, 0.005], [0.005, 0.05**2]])
    found = shape(0.125, 0.05, 0.005, level=level)
    shots = np.random.default_rng(3).multivariate_normal([0, 0], covariance, 100_000)
    turn = np.radians(found["tilt_deg"])
    along = shots @ [np.cos(turn), np.sin(turn)] / found["half_length"]
    beside = shots @ [-np.sin(turn), np.cos(turn)] / found["half_width"]
    held = (along**2 + beside**2 <= 1).mean()
    assert held == pytest.approx(level, abs=4 * np.sqrt(level * (1 - level) / 100_000))


def test_no_uncertainty_gives_a_point() -> None:
    assert shape(0.0, 0.0, 0.0)["half_length"] == shape(0.0, 0.0, 0.0)["half_width"] == 0


def test_a_missing_uncertainty_gives_a_missing_ellipse() -> None:
    assert np.isnan(shape(float("nan"), 0.05, 0.0)["half_length"])


def test_its_points_lie_on_it_and_close_it() -> None:
    covariance = np.array([[0.125**2, 0.005], [0.005, 0.05**2]])
    found = shape(0.125, 0.05, 0.005)
    points = ellipse_points(20.0, 10.0, **found).to_numpy() - [20.0, 10.0]
    distance = np.einsum("ni,ij,nj->n", points, np.linalg.inv(covariance), points)
    assert distance == pytest.approx(5.991465, rel=1e-6)
    assert points[0] == pytest.approx(points[-1])
