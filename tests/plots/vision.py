"""What colours look like to other eyes, and how far apart they are."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import to_rgb

# Machado, Oliveira and Fernandes 2009, IEEE TVCG 15:1291, severity 1.0, on linear sRGB.
SIMULATED = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}

# IEC 61966-2-1: linear sRGB to CIE XYZ under D65, and its white.
_TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
_WHITE = _TO_XYZ.sum(axis=1)


def linear(colour: str) -> np.ndarray:
    """Return a colour as linear sRGB (IEC 61966-2-1)."""
    coded = np.array(to_rgb(colour))
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def lab(colour: str, eyes: str = "usual") -> np.ndarray:
    """Return a colour in CIELAB (CIE 15), as some eyes see it."""
    seen = np.clip(SIMULATED[eyes] @ linear(colour), 0, 1)
    ratio = _TO_XYZ @ seen / _WHITE
    x, y, z = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def distance(first: str, second: str, eyes: str) -> float:
    """Return the CIE 1976 colour difference, as some eyes see it."""
    return float(np.linalg.norm(lab(first, eyes) - lab(second, eyes)))


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of WCAG 2.2."""
    light, dark = sorted(
        (float(_TO_XYZ[1] @ linear(colour)) + 0.05 for colour in (first, second)), reverse=True
    )
    return light / dark
