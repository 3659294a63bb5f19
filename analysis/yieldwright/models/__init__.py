"""Small-sample statistics that know nothing of coffee: columns in, estimates with intervals out.

Import from the modules, `from yieldwright.models.linear.model import fit_least_squares`: an
interval for a proportion should not have to wait for the regression library.
"""

from __future__ import annotations

__all__: list[str] = []
