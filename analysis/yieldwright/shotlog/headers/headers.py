"""What the columns of a file stand for, taken together: no quantity twice, nothing guessed."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, listing, visible
from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.headers.synonyms import Table, fold_name, glossary_names
from yieldwright.shotlog.headers.vocabulary import RESERVED_ATTRIBUTES, Header, Vocabulary

__all__ = [
    "RESERVED_ATTRIBUTES",
    "Header",
    "Table",
    "Vocabulary",
    "header_remarks",
    "nearest_name",
    "read_headers",
    "without_rivals",
]

_Claim = tuple[str, str]  # role and name of a header


def read_headers(cells: Sequence[str], vocabulary: Vocabulary, file: str) -> list[Header]:
    """Return what each column stands for.

    General words count only where no other column claims the same quantity.

    Parameters
    ----------
    cells : sequence of str
        The header record.
    vocabulary : Vocabulary
        What is known for this kind of table.
    file : str
        For the message.

    Returns
    -------
    list of Header

    Raises
    ------
    UnreadableLogError
        If two columns have one header, or stand for one quantity by their names.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = Vocabulary("shots", Bench())
    >>> [header.role for header in read_headers(["Shot", "overall", "mood"], shots, "a.csv")]
    ['quantity', 'attribute', 'extra']
    """
    texts = [cell.strip() or f"column {at}" for at, cell in enumerate(cells, start=1)]
    headers = [vocabulary.header(text) for text in texts]
    _refuse_doubles(headers, file)
    return without_rivals(headers)


def header_remarks(headers: Iterable[Header]) -> list[str]:
    """Return what to tell about the headers that are no names of the glossary.

    Parameters
    ----------
    headers : iterable of Header
        The columns of one file.

    Returns
    -------
    list of str
        One sentence on all general words that were understood, and one on each header
        that is ambiguous or whose unit does not fit.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = Vocabulary("shots", Bench())
    >>> for sentence in header_remarks(read_headers(["coffee in", "Temp °F", "yield"], shots, "")):
    ...     print(sentence)
    “coffee in” is read as dose_g, “Temp °F” as temp_c, given in °F.
    “yield” may be beverage_g or ey_pct: say which under [columns] in bench.toml.
    """
    headers = list(headers)
    taken = [each for each in headers if each.is_spoken]
    pairs = [f"{quoted(each.text)} as {each.name}{_given_in(each)}" for each in taken]
    told = [", ".join(pairs).replace("” as ", "” is read as ", 1) + "."] if pairs else []
    return [*told, *dict.fromkeys(each.doubt for each in headers if each.doubt)]


def nearest_name(text: str, table: Table) -> str:
    """Return the name in the glossary nearest to a header, empty where none is near.

    Parameters
    ----------
    text : str
        Header as typed.
    table : {"shots", "tastings"}
        What the rows describe.

    Returns
    -------
    str

    Examples
    --------
    >>> nearest_name("TDS", "shots")
    'tds_pct'
    """
    names = glossary_names(table)
    begun = [name for name in names if name.startswith(f"{fold_name(text)}_")]
    if begun:
        return names[min(begun, key=len)]
    near = difflib.get_close_matches(fold_name(text)[:60], list(names), n=1, cutoff=0.75)
    return names[near[0]] if near else ""


def _double_sentence(file: str, name: str, headers: Sequence[str]) -> str:
    shown = listing([f"“{clip(visible(header), 40)}”" for header in headers])
    return (
        f"{file} has {len(headers)} columns for {clip(visible(name), 40)}: {shown}; which one "
        "counts cannot be guessed, so rename or delete all but one"
    )


def without_rivals(headers: Sequence[Header]) -> list[Header]:
    """Return headers, of those in general words only such as claim a quantity alone.

    Parameters
    ----------
    headers : sequence of Header
        Each by itself.

    Returns
    -------
    list of Header
    """
    named: dict[_Claim, str] = {}
    spoken: dict[_Claim, list[str]] = {}
    for each in headers:
        if each.is_spoken:
            spoken.setdefault((each.role, each.name), []).append(each.text)
        else:
            named[each.role, each.name] = each.text
    return [_alone(each, named, spoken) if each.is_spoken else each for each in headers]


def _alone(
    header: Header,
    named: Mapping[_Claim, str],
    spoken: Mapping[_Claim, Sequence[str]],
) -> Header:
    """Return a header as it is, or kept as text where another claims the same quantity."""
    claim = (header.role, header.name)
    if claim in named:
        already = f"the column {quoted(named[claim])} is {header.name} already"
        doubt = f"{quoted(header.text)} is kept as text: {already}."
    elif len(spoken[claim]) > 1:
        which = listing([quoted(text) for text in spoken[claim]])
        doubt = f"{which} may each be {header.name}: say which under [columns] in bench.toml."
    else:
        return header
    return Header(header.text, "extra", header.text, doubt=doubt)


def _given_in(header: Header) -> str:
    return f", given in {header.unit}" if header.unit else ""


def _refuse_doubles(headers: Sequence[Header], file: str) -> None:
    """Raise where two columns have one header, or one quantity by their names."""
    counted = Counter(
        (header.role, header.text if header.is_spoken else header.name) for header in headers
    )
    for (role, name), times in counted.items():
        if times > 1:
            same = [
                each.text
                for each in headers
                if each.role == role and name == (each.text if each.is_spoken else each.name)
            ]
            raise UnreadableLogError(_double_sentence(file, name, same))
