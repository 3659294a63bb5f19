"""Options on how an answer is told, the same for every command that has them."""

from __future__ import annotations

import argparse

__all__ = ["add_figures_option", "add_json_option", "add_output_options"]


def add_output_options(parser: argparse.ArgumentParser) -> None:
    """Add how much of an answer is told, and as what.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of a command; changed.

    Examples
    --------
    >>> parser = argparse.ArgumentParser()
    >>> add_output_options(parser)
    >>> parser.parse_args(["--full"])
    Namespace(full=True, figures=None, json=False)
    """
    parser.add_argument("--full", action="store_true", help="show every part with its tables")
    add_figures_option(parser)
    add_json_option(parser)


def add_figures_option(parser: argparse.ArgumentParser) -> None:
    """Add where figures are written.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of a command; changed.
    """
    parser.add_argument(
        "--figures", metavar="DIR", help="also write each figure as an SVG file into this folder"
    )


def add_json_option(parser: argparse.ArgumentParser) -> None:
    """Add whether a program reads the answer.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of a command; changed.
    """
    parser.add_argument("--json", action="store_true", help="print one JSON object instead")
