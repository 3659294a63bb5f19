"""Names of months, as people of several languages write them."""

from __future__ import annotations

import unicodedata

__all__ = ["month_of"]

_NAMES = (
    # English, German, French, Spanish, Italian, Portuguese, Dutch; each with its usual
    # short forms and without accents. No word stands for two months.
    "jan january januar jaenner janner janvier janv ene enero gen gennaio janeiro januari",
    "feb february februar feber fevrier fev fevr febrero febbraio fevereiro februari",
    "mar march marz maerz mrz mars marzo marco maart mrt",
    "apr april avril avr abr abril aprile",
    "may mai mayo mag maggio maio mei",
    "jun june juni juin junio giu giugno junho",
    "jul july juli juillet juil julio lug luglio julho",
    "aug august aout ago agosto augustus",
    "sep sept september septembre septiembre set settembre setembro setiembre",
    "oct october okt oktober octobre octubre ott ottobre out outubro",
    "nov november novembre noviembre novembro",
    "dec december dez dezember decembre dic diciembre dicembre dezembro",
)
_MONTHS = {word: number for number, words in enumerate(_NAMES, start=1) for word in words.split()}


def month_of(word: str) -> int | None:
    """Return the number of a month, None where a word names none.

    English, German, French, Spanish, Italian, Portuguese and Dutch are known, whole or
    shortened.

    Parameters
    ----------
    word : str
        Name, in any case, with or without accents.

    Returns
    -------
    int or None

    Examples
    --------
    >>> month_of("März"), month_of("févr"), month_of("Sept"), month_of("moon")
    (3, 2, 9, None)
    """
    apart = unicodedata.normalize("NFKD", word.casefold())
    return _MONTHS.get("".join(sign for sign in apart if not unicodedata.combining(sign)))
