"""What people call the columns of a shot log, in general words of the trade.

English throughout; German, French, Spanish and Italian for the everyday columns. A word
listed under several quantities is ambiguous: a unit beside it may decide, else we ask.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import cache
from typing import Literal

from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES, Quantity

__all__ = [
    "CELL_WORDS",
    "LIKING_WORDS",
    "Table",
    "fold_name",
    "fold_words",
    "glossary_names",
    "meanings_of",
    "stem_of",
]

Table = Literal["shots", "tastings"]

_SHOTS: Mapping[str, str] = {
    "shot": "shot id|shot number|shot no|shot nr|shot name|id|no|nr|number|bezug|tiro|colpo",
    "position": "position|no|nr|number|shot in session|order",
    "session": "sitting|sitzung|seance|sesion|sessione",
    "pulled_at": "pulled|date time|datetime|date and time|timestamp|time stamp|when",
    "pulled_on": "date|day|shot date|pull date|date pulled|datum|fecha",
    "machine": "lever machine|espresso machine|maschine|maquina|macchina",
    "basket": "filter basket|sieb|panier|cesta",
    "water": "brew water|brewing water|wasser|eau|agua|acqua",
    "bag": "bag id|bean|beans|coffee|coffee name|lot|batch|bohne|bohnen|kaffee|grains|cafe"
    "|granos|chicchi|caffe",
    "roast_level": "roast|roasted|roast degree|roast colour|roast color|rostgrad|rostung"
    "|torrefaction|tueste|tostatura",
    "roasted_on": "roast|roasted|roast date|date roasted|roast day|rostdatum"
    "|date de torrefaction|fecha de tueste|data di tostatura",
    "opened_on": "opened|bag opened|open date|date opened|opening date|geoffnet|geoffnet am"
    "|anbruch",
    "frozen_on": "frozen|freeze date|date frozen|frozen since|freezer in|into freezer"
    "|in the freezer since|eingefroren|eingefroren am",
    "thawed_on": "thawed|thaw date|date thawed|defrosted|defrosted on|freezer out|out of freezer"
    "|aufgetaut|aufgetaut am",
    "frozen_d": "frozen|frozen days|days in freezer|days frozen|freezer days|tage eingefroren"
    "|tage im gefrierfach",
    "open_d": "days since opening|days open|days since opened|opened days|tage offen",
    "roast_age_d": "age|coffee age|bean age|days off roast|days since roast|days post roast"
    "|days after roast|rest|rest days|days rested|days of rest",
    "dose_g": "coffee|coffee in|coffee dose|coffee weight|coffee mass|dry dose|dose in|dose weight"
    "|dose mass|grounds|grounds in|ground coffee|in|input|mass in|weight in|beans|weight|mass"
    "|dosis|einwaage|kaffeemenge|dosi",
    "dose_target_g": "dose target|target dose|target in|target",
    "beverage_g": "beverage|beverage weight|coffee weight|coffee mass|beverage out"
    "|cup|cup weight|cup mass|coffee out|drink"
    "|drink weight|espresso weight|espresso mass|espresso out|liquid|liquid out|liquid weight"
    "|out|output|mass out|weight out|shot weight|shot mass|yield|yield out|yield weight"
    "|weight|mass|ertrag|auswaage|getrank|getrankemenge|tasse|boisson|bebida|taza|bevanda|tazza",
    "beverage_target_g": "beverage target|target beverage|target out|target yield|yield target"
    "|target",
    "brew_ratio": "ratio|brew ratio|brewing ratio|verhaltnis|proporcion|rapporto",
    "time_s": "time|extraction time|extraction|brew time|pull time|shot length|duration|seconds"
    "|sec|secs|total time|zeit|bezugszeit|durchlaufzeit|extraktion|temps|tiempo|extraccion"
    "|tempo|estrazione",
    "time_from": "time from|clock starts|timer starts|clock started at",
    "prewet_s": "pre wet|prewet|prewetting|pre infusion|preinfusion|pre infusion time"
    "|preinfusion time|soak|soak time",
    "first_drip_s": "first drip time|first drop|first drops|drip|time to first drip"
    "|time to first drop",
    "grinder": "mill|muhle|moulin|molino|macinino",
    "grind_setting": "grind|grinder setting|grind size|setting|clicks|click|mahlgrad|mouture"
    "|molienda|macinatura",
    "retained_g": "retention|retained",
    "purged_g": "purge",
    "temp_band": "band|temp band|heat band|preheat band",
    "temp_c": "temp|brew temp|brew temperature|brewing temperature|group temp|group temperature"
    "|boiler temp|boiler temperature|water temp|water temperature|temperatur|temperatura",
    "temp_where": "temp where|temp at|temperature at|probe at",
    "preheat_min": "preheat time|heat up|heat up time|warm up time|vorheizen|prechauffage",
    "soak_min": "heat soak time|group soak|time at temperature",
    "gap_min": "gap|rest|time since last shot|since last shot",
    "peak_bar": "pressure|peak|max pressure|maximum pressure|highest pressure|druck|pression"
    "|presion|pressione",
    "hold_bar": "pressure|hold|hold pressure|holding pressure|druck|pression|presion|pressione",
    "end_bar": "pressure|final pressure|last pressure|druck|pression|presion|pressione",
    "taper_bar": "taper|pressure drop",
    "taper_start_s": "taper|taper start|start of taper|taper from",
    "distribution": "distributed|distributing",
    "tamp": "tamped|tamping",
    "puck_screen": "screen|screen on puck",
    "paper": "paper filter|filter paper",
    "tds_pct": "tds|total dissolved solids|concentration|starke|konzentration",
    "sample_c": "sample temp",
    "ey_pct": "ey|extraction|yield|extraction percent|extraktion|ausbeute|ertrag|extraccion"
    "|estrazione|rendement",
    "barista": "pulled by|brewed by|made by|operator",
    "room_c": "room temp|ambient|ambient temp|ambient temperature|raumtemperatur",
    "humidity_pct": "humidity|rh|room humidity|luftfeuchte|humidite|humedad|umidita",
    "serviced": "service|cleaned|cleaning|maintenance",
    "notes": "note|comment|comments|remark|remarks|observation|observations|notiz|notizen"
    "|bemerkung|bemerkungen|commentaire|commentaires|remarque|remarques|nota|notas"
    "|comentario|comentarios",
}
_TASTINGS: Mapping[str, str] = {
    "shot": "shot id|shot number|shot no|shot nr|shot name",
    "taster": "tasted by|judge|assessor|panelist|panellist|verkoster|degustateur|catador"
    "|assaggiatore",
    "tasting_order": "order|cup number|cup no|position|serving order",
    "blind_code": "code|cup code|sample code|blind|three digit code",
    "attribute": "descriptor|characteristic|merkmal|attribut|attributo|atributo",
    "score": "rating|liking|points|mark|grade|value|bewertung|punkte|puntuacion|punteggio",
    "swallowed": "drunk|drank",
}
#: Says "how good", for the attribute at the head of the bench.
LIKING_WORDS = frozenset({"score", "rating", "liking", "bewertung", "puntuacion", "punteggio"})
_ALSO_IN_CELLS = (
    "no|in|out|rest|screen|coffee|cafe|kaffee|caffe|bean|beans|cleaned|cleaning|service|number"
    "|order|tamped|distributed|drunk|drank|opened|frozen|thawed|defrosted|eingefroren|aufgetaut|weight|mass|when|roasted|pulled|target"
    "|value|eau|wasser|agua|acqua"
)
#: Words that cells hold as well: they do not tell a header from a row.
CELL_WORDS = frozenset(_ALSO_IN_CELLS.split("|"))
_READING = re.compile(r"(?:tds|strength)(?:_reading)?_?([1-9][0-9]?)")


def fold_name(text: str) -> str:
    """Return a header without case, blanks, brackets and signs; all signs kept if no more.

    Parameters
    ----------
    text : str
        Header as typed.

    Returns
    -------
    str

    Examples
    --------
    >>> fold_name("Dose [g]"), fold_name("TDS %"), fold_name("#")
    ('dose_g', 'tds_pct', '#')
    """
    plain = re.sub(r"[\W_]+", "_", text.casefold().replace("%", "pct")).strip("_")
    return plain or text.strip()


def fold_words(text: str) -> str:
    """Return words without case, accents, blanks and signs.

    Parameters
    ----------
    text : str
        Header, or a part of one.

    Returns
    -------
    str

    Examples
    --------
    >>> fold_words("Röst-Datum"), fold_words(" Coffee  in")
    ('rost_datum', 'coffee_in')
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(sign for sign in apart if not unicodedata.combining(sign))
    return re.sub(r"[\W_]+", "_", bare.replace("%", " pct ")).strip("_")


def meanings_of(folded: str, table: Table) -> tuple[str, ...]:
    """Return the quantities that words may stand for.

    Parameters
    ----------
    folded : str
        By `fold_words`.
    table : {"shots", "tastings"}
        What the rows describe.

    Returns
    -------
    tuple of str
        Names in the glossary; empty where the words are not known, several where they
        are ambiguous.

    Examples
    --------
    >>> meanings_of("coffee_in", "shots"), meanings_of("yield", "shots")
    (('dose_g',), ('beverage_g', 'ey_pct'))
    >>> meanings_of("tds_2", "shots")
    ('tds_2_pct',)
    """
    reading = _READING.fullmatch(folded) if table == "shots" else None
    return (f"tds_{reading[1]}_pct",) if reading else _meanings(table).get(folded, ())


def stem_of(folded: str, table: Table) -> str:
    """Return the quantity whose name begins with words and ends in its own unit.

    Parameters
    ----------
    folded : str
        By `fold_words`.
    table : {"shots", "tastings"}
        What the rows describe.

    Returns
    -------
    str
        Empty where there is none.

    Examples
    --------
    >>> stem_of("dose_target", "shots"), stem_of("grind", "shots")
    ('dose_target_g', '')
    """
    return _stems(table).get(folded, "")


@cache
def glossary_names(table: Table) -> Mapping[str, str]:
    """Return the names of the glossary by what may be typed for them.

    Parameters
    ----------
    table : {"shots", "tastings"}
        What the rows describe.

    Returns
    -------
    mapping of str to str
        Names and labels with their units, by `fold_name`.

    Examples
    --------
    >>> glossary_names("shots")["beverage_mass_g"]
    'beverage_g'
    """
    entries = _entries(table)
    spoken = {fold_name(entry.axis_label): entry.name for entry in entries}
    return spoken | {fold_name(entry.name): entry.name for entry in entries}


def _entries(table: Table) -> tuple[Quantity, ...]:
    return SHOT_QUANTITIES if table == "shots" else TASTING_QUANTITIES


@cache
def _meanings(table: Table) -> Mapping[str, tuple[str, ...]]:
    """Return the names of the glossary by the words people use for them."""
    found: dict[str, tuple[str, ...]] = {}
    listed = _SHOTS if table == "shots" else _TASTINGS
    for entry in _entries(table):
        words = [entry.label, *listed.get(entry.name, "").split("|")]
        for word in dict.fromkeys(map(fold_words, filter(None, words))):
            found[word] = (*found.get(word, ()), entry.name)
    return found


@cache
def _stems(table: Table) -> Mapping[str, str]:
    return {
        entry.name.rpartition("_")[0]: entry.name
        for entry in _entries(table)
        if entry.is_numeric and entry.unit != "1"
    }
