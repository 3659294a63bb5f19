"""Panels in rows of a few abreast, measured in millimetres."""

from __future__ import annotations

from dataclasses import dataclass

from yieldwright.plots.paper import FigureSize

__all__ = ["PanelRows"]


@dataclass(frozen=True, slots=True)
class PanelRows:
    """A sheet of panels of one height, row below row.

    Attributes
    ----------
    n_panels : int
        How many panels there are. [count]
    panel_mm : float
        Height of each. [mm]
    above_mm, below_mm : float
        Room over and under each, for its name and its scale. [mm]
    left_mm, right_mm : float
        Room beside the first and the last of a row. [mm]
    gap_mm : float
        Room between neighbours. [mm]
    foot_mm : float
        Room under all, for what explains the marks. [mm]
    width_mm : float
        Width of the sheet. [mm]
    abreast : int
        Most panels in a row. [count]
    """

    n_panels: int
    panel_mm: float
    above_mm: float
    below_mm: float
    left_mm: float
    right_mm: float = 2.0
    gap_mm: float = 5.0
    foot_mm: float = 6.0
    width_mm: float = 180.0
    abreast: int = 3

    @property
    def height_mm(self) -> float:
        """Height of the sheet, in millimetres."""
        return max(-(-self.n_panels // self.abreast), 1) * self._row_mm + self.foot_mm

    @property
    def size(self) -> FigureSize:
        """Size of a figure that holds the sheet and nothing else."""
        return FigureSize(
            self.width_mm, self.height_mm, left_mm=0, right_mm=0, top_mm=0, bottom_mm=0
        )

    def bounds(self, place: int) -> tuple[float, float, float, float]:
        """Return where a panel lies: left, bottom, width and height as shares of the sheet.

        Parameters
        ----------
        place : int
            Number of the panel, from 0.

        Returns
        -------
        tuple of float
        """
        in_row = min(self.n_panels, self.abreast)
        room_mm = self.width_mm - self.left_mm - self.right_mm - (in_row - 1) * self.gap_mm
        wide_mm = room_mm / in_row
        left_mm = self.left_mm + place % self.abreast * (wide_mm + self.gap_mm)
        top_mm = place // self.abreast * self._row_mm + self.above_mm
        return (
            left_mm / self.width_mm,
            (self.height_mm - top_mm - self.panel_mm) / self.height_mm,
            wide_mm / self.width_mm,
            self.panel_mm / self.height_mm,
        )

    def leads(self, place: int) -> bool:
        """Return whether a panel is the first of its row.

        Parameters
        ----------
        place : int
            Number of the panel, from 0.

        Returns
        -------
        bool
        """
        return place % self.abreast == 0

    @property
    def _row_mm(self) -> float:
        return self.above_mm + self.panel_mm + self.below_mm
