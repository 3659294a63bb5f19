"""Places on the command line where something is to be written, tried before any work."""

from __future__ import annotations

from pathlib import Path

from yieldwright.errors import NotWritableError

__all__ = ["place_for_figures"]


def place_for_figures(name: str | None) -> Path | None:
    """Return the folder for the figures, made where it is missing.

    Parameters
    ----------
    name : str or None
        As typed; None where no figures are wanted.

    Returns
    -------
    Path or None

    Raises
    ------
    NotWritableError
        If it has no name or cannot be made.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     place_for_figures(f"{folder}/deep/figures").is_dir()
    True
    """
    if name is None:
        return None
    if not name.strip():
        raise NotWritableError("the folder for the figures has no name; write one after --figures")
    try:
        Path(name).mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or problem
        raise NotWritableError(
            f"the folder {name} for the figures cannot be made ({reason}); name another"
        ) from None
    return Path(name)
