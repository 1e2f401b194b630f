"""Trouble by what is seen: likely causes in order, and the test that splits them.

Common practice of the bench, no source; every row says so.
"""

from __future__ import annotations

import difflib
import math
import re
from collections import Counter
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from aerode.errors import ReferenceDataError
from aerode.reference.loader import bibliography, parse_toml, read_text
from aerode.reference.rows import Status

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = [
    "SymptomRow",
    "causes_told",
    "find_symptoms",
    "parse_symptoms",
    "surely_fits",
    "symptom_row",
    "symptom_rows",
]

_FILE = "symptoms.toml"
_MAY_BE_EMPTY = {"hazard"}
_SMALL_WORDS = {
    "a", "an", "and", "at", "in", "is", "it", "my", "no", "not", "of", "on", "the", "to", "with", "out", "go", "goes",
    "come", "comes", "get", "gets", "does", "doesn", "don", "isn", "t", "s", "its", "there", "some", "something", "stuff",
    "very", "too", "i", "see", "has", "have", "was", "when", "what", "this", "that", "are", "all", "both", "every", "from", "for", "but", "just",
}  # fmt: skip
_EVERYWHERE = {"cell", "electrod", "piec", "under", "volt", "voltag", "liquid", "run", "side"}
"""Stems that say where something is seen, hardly what: they count a quarter."""
_COMMON = 0.25  # judgement
_PHRASE = 2.0  # judgement
"""What the name of a row, said whole, counts beyond its words."""
_DROPS = re.compile(r"\bdrops? (?=(?:of|on|under|below|beneath|at|out|in|beside)\b(?! load))")
"""Drops that lie somewhere, not a voltage that drops."""
_PEELS = re.compile(
    r"\b(?:(?:com(?:e|es|ing)|came|fall(?:s|ing|en)?|fell|drop(?:s|ped|ping)?|break(?:s|ing)?|broke|lift(?:s|ed|ing)?"
    r"|slid(?:es|ing)?|slip(?:s|ped|ping)?|crumbl(?:es?|ed|ing)|chip(?:s|ped|ping)?|flak(?:es?|ed|ing)|peel(?:s|ed|ing)?)"
    r" (?:\w+ly |all |right )?(?:off|away|loose|from)|detach\w*|delaminat\w*|flak(?:es?|ed|ing|y)|peel(?:s|ed|ing)?)\b"
)
"""A layer that leaves its mesh, in everyday verbs; what only rubs off stays on it."""
_LAYER = re.compile(r"\b(?:black|carbon|soot|powder|paint|coating|coat|layer|crumbs|bits|flakes)\b")
"""What the layer is called where it is that which leaves."""
_NO_LAYER = re.compile(
    r"\b(?:leads?|clips?|tabs?|plugs?|cables?|wires?|tape|lid|seals?|volt\w*|reading|current|crust|salt|gel|jelly"
    r"|alumini?um|foil|rust|lacquer)\b"
)
"""What else may come off, or fall off under load."""
_LIQUID = re.compile(r"\b(?:liquid|water|brine|lye|electrolyte|fluid)\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class SymptomRow:
    """One thing that is seen; `tells` says for each cause what the test shows if it is that one."""

    key: str
    seen: str
    words: str
    causes: tuple[str, ...]
    test: str
    tells: tuple[str, ...]
    minutes: float
    keep: str
    hazard: str
    source: str

    @property
    def names(self) -> tuple[str, ...]:
        """Under which it is found and was kept: its key, and the key without the word in front."""
        _, _, rest = self.key.partition(": ")
        return (self.key, rest) if rest else (self.key,)

    @property
    def status(self) -> Status:
        """Unverified: a fact of the trade."""
        kind = bibliography()[self.source].kind
        return Status.UNVERIFIED if kind in ("practice", "memory") else Status.SECONDARY


def _refuse(where: str, what: str, allowed: str) -> ReferenceDataError:
    return ReferenceDataError(what, where=where, allowed=allowed, next_step="mend that entry")


def _entry(values: dict[str, Any], where: str, sources: Collection[str]) -> SymptomRow:
    wanted = {field.name for field in fields(SymptomRow)}
    empty = [k for k, v in values.items() if k not in _MAY_BE_EMPTY and not v]
    if set(values) != wanted or empty:
        raise _refuse(where, "an entry with other or empty fields", ", ".join(sorted(wanted)))
    if values["source"] not in sources:
        raise _refuse(where, f"unknown source {values['source']!r}", "a key of bibliography.toml")
    if len(values["causes"]) < 2 or len(values["causes"]) != len(values["tells"]):
        raise _refuse(
            where, "causes and what the test tells do not pair", "two causes or more, one tell each"
        )
    if not 0 < values["minutes"] <= 24 * 60:
        raise _refuse(where, f"{values['minutes']} minutes", "above 0, at most a day")
    given: dict[str, Any] = {
        **values,
        "causes": tuple(values["causes"]),
        "tells": tuple(values["tells"]),
        "minutes": float(values["minutes"]),
    }
    return SymptomRow(**given)


def parse_symptoms(
    text: str, file: str = _FILE, *, sources: Collection[str]
) -> tuple[SymptomRow, ...]:
    """The rows of a TOML text.

    Parameters
    ----------
    text : str
        TOML with `[[symptom]]` entries.
    file : str
        The name to show in a refusal.
    sources : collection of str
        Known source keys.

    Returns
    -------
    tuple of SymptomRow

    Raises
    ------
    ReferenceDataError
        A bad field, an unknown source, causes without a tell, or a key twice; the place is named.
    """
    starts = [i for i, t in enumerate(text.splitlines(), start=1) if t.startswith("[[symptom]]")]
    found: dict[str, SymptomRow] = {}
    for values, line in zip(parse_toml(text, file).get("symptom", ()), starts, strict=True):
        row = _entry(values, f"{file}, line {line}", sources)
        if row.key in found:
            raise _refuse(f"{file}, line {line}", f"{row.key!r} stands twice", "each key once")
        found[row.key] = row
    return tuple(found.values())


@lru_cache(maxsize=1)
def symptom_rows() -> tuple[SymptomRow, ...]:
    """Every symptom on file, in the order of the table; read on first use.

    Returns
    -------
    tuple of SymptomRow

    Examples
    --------
    >>> len(symptom_rows()) >= 20
    True
    """
    return parse_symptoms(read_text(_FILE), sources=bibliography())


# Words that people say for what the table says otherwise; stems, see `_stem`.
_SAME_WORD = {
    "puddl": "leak", "pool": "leak", "his": "bubbl", "pow": "low", "stop": "fall", "work": "zero", "crumbl": "peel",
    "warm": "hot", "heat": "hot", "burn": "hot", "boil": "hot", "steam": "hot", "underneath": "wet", "underside": "wet",
    "through": "leak", "swell": "bulg", "swollen": "bulg", "blister": "bulg", "bump": "bulg",
    "drip": "leak", "ooz": "leak", "sweat": "leak", "soak": "wet", "damp": "wet", "moist": "wet",
    "seep": "leak", "fluid": "liquid", "wat": "liquid", "electrolyt": "liquid", "foam": "bubbl",
    "fizz": "bubbl", "broken": "crack", "split": "crack", "fractur": "crack", "flak": "peel",
    "loos": "peel", "stink": "smell", "odor": "smell", "odour": "smell", "rust": "brown",
    "wobbl": "jump", "wob": "jump", "wander": "jump", "fluctuat": "jump", "unstabl": "jump", "nois": "jump",
    "dead": "zero", "noth": "zero", "none": "zero", "blank": "zero", "minus": "negativ", "revers": "negativ", "di": "fall",
    "drop": "fall", "fad": "fall", "sag": "fall", "sink": "fall", "declin": "fall", "weak": "low",
    "different": "dif", "unlik": "dif", "uneven": "dif", "unequal": "dif", "vari": "dif", "vary": "dif",
    "alik": "dif", "inconsistent": "dif", "pit": "hol", "perforat": "hol", "pinhol": "hol", "chlorin": "bleach",
    "sooty": "black", "sludg": "gel", "jelly": "gel", "slim": "gel", "connect": "load", "motor": "load", "lamp": "load",
}  # fmt: skip
_ENDINGS = ("ingly", "edly", "ing", "ness", "ies", "ied", "ed", "es", "er", "ly", "s", "y", "e")
_SHORTEST_STEM = 3


def _stem(word: str) -> str:
    """A word without its ending: leaking, leaks, leaked and leaky are one.

    >>> [_stem(word) for word in ("leaking", "leaky", "bubbles", "gel", "dropped")]
    ['leak', 'leak', 'bubbl', 'gel', 'drop']
    """
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= _SHORTEST_STEM:
            word = word[: -len(ending)]
            break
    doubled = len(word) > _SHORTEST_STEM and word[-1] == word[-2] and word[-1] not in "ls"
    return word[:-1] if doubled else word


def _tokens(text: str) -> set[str]:
    words = set(re.findall(r"[a-z]+", text.casefold())) - _SMALL_WORDS
    stems = {_stem(word) for word in words}
    return {_SAME_WORD.get(stem, stem) for stem in stems}


_GUESSED = 0.5  # judgement: a word whose spelling was mended counts half
_HALF = 0.5  # judgement: of what was said stands in the row
_CLEAR = 1.3  # judgement: times as good as the next row
_NO_TIE = 1.02  # judgement: as good as the next row, but for rounding
_ALIKE = 0.75  # judgement: "leek" is "leak", "lamp" is not "damp" with another first letter
_SHORTEST_SLIP = 4  # judgement


@lru_cache(maxsize=1)
def _known_words() -> frozenset[str]:
    """Every stem that the table or the list of everyday words knows."""
    texts = (f"{r.key} {r.words} {r.seen} {' '.join(r.causes)}" for r in symptom_rows())
    told = {_stem(word) for text in texts for word in re.findall(r"[a-z]+", text.casefold())}
    return frozenset(told | set(_SAME_WORD) | set(_SAME_WORD.values()))


def _spelt(text: str) -> set[str]:
    """The words of somebody in a hurry: one that nobody knows is taken for its nearest that begins alike.

    >>> sorted(_spelt("it leeks")), sorted(_spelt("purple elephant"))
    (['leak'], ['elephant', 'purpl'])
    """
    return set(_heard(text))


def _heard(text: str) -> dict[str, bool]:
    """Each word that is asked for, and whether it is what was typed; False where it is a guess at a slip."""
    known, said = _known_words(), dict[str, bool]()
    for word in sorted(set(re.findall(r"[a-z]+", _meant(text.casefold()))) - _SMALL_WORDS):
        stem = _stem(word)
        typed = stem
        if stem not in known and len(stem) >= _SHORTEST_SLIP:
            alike = sorted(one for one in known if one[:1] == stem[:1])
            stem = next(iter(difflib.get_close_matches(stem, alike, n=1, cutoff=_ALIKE)), stem)
        meant = _SAME_WORD.get(stem, stem)
        said[meant] = said.get(meant, False) or stem == typed
    return said


def _drops_lie(text: str) -> str:
    """Drops under the cell are a leak; a voltage, or a reading, that drops is not.

    >>> _drops_lie("it leaks, drops under the cell"), _drops_lie("the voltage drops under load")
    ('it leaks, leak under the cell', 'the voltage drops under load')
    """
    return text if re.search(r"volt|reading|current", text) else _DROPS.sub("leak ", text)


def _layer_peels(text: str) -> str:
    """A black layer that came off is a film that peels: the verb tells what happened, not the colour.

    >>> _layer_peels("the black stuff came off the mesh"), _layer_peels("the clip came off")
    ('the film stuff peel the mesh', 'the clip came off')
    """
    verb = next((m for m in _PEELS.finditer(text) if not _NO_LAYER.search(text[: m.start()])), None)
    if verb is None:
        return text
    told = f"{text[: verb.start()]}peel{text[verb.end() :]}"
    return told if _LIQUID.search(text) else _LAYER.sub("film", told)


def _meant(text: str) -> str:
    """Everyday sentences in the words of the table."""
    return _layer_peels(_drops_lie(text))


def _in_order(text: str) -> list[str]:
    stems = (_stem(w) for w in re.findall(r"[a-z]+", text.casefold()) if w not in _SMALL_WORDS)
    return [_SAME_WORD.get(stem, stem) for stem in stems]


def _said_whole(row: SymptomRow, text: str) -> bool:
    """Whether the name of a row stands in a text, its words side by side."""
    said = f" {' '.join(_in_order(_meant(text.casefold())))} "
    names = [_in_order(name) for name in row.names]
    return any(len(name) > 1 and f" {' '.join(name)} " in said for name in names)


def _score(row: SymptomRow, asked: set[str]) -> float:
    """How well a row fits: words of its name and list count double and more, near spellings half; rare words more."""
    own, told, name = _tokens(row.key + " " + row.words), _tokens(row.seen), _tokens(row.key)
    score = 0.0
    for word in asked:
        rare = (_COMMON if word in _EVERYWHERE else 1.0) / _rows_with().get(word, 1) ** 0.5
        if word in name:
            score += 2.5 * rare
        elif word in own:
            score += 2.0 * rare
        elif word in told or _nearly(word, own):
            score += rare
    return score


def _nearly(word: str, own: set[str]) -> bool:
    """Whether a word of some length is nearly one of these, and begins alike: "all" is not "fall"."""
    alike = [one for one in own if one[:1] == word[:1]]
    return len(word) >= _SHORTEST_SLIP and bool(
        difflib.get_close_matches(word, alike, n=1, cutoff=0.8)
    )


def surely_fits(text: str, rows: tuple[SymptomRow, ...]) -> bool:
    """Whether the first of the rows that were found is told as the answer, and not only offered.

    Parameters
    ----------
    text : str
        What is seen, in any words.
    rows : tuple of SymptomRow
        As `find_symptoms` gives them for it.

    Returns
    -------
    bool
        False where most of what was said stands nowhere in the row, where only its spelling is near,
        and where another row fits as well.

    Examples
    --------
    >>> surely_fits("it leaks", find_symptoms("it leaks"))
    True
    >>> surely_fits("purple smell", find_symptoms("purple smell"))
    False
    """
    if not rows:
        return False
    first = rows[0]
    if " ".join(text.casefold().split()) in first.names or _said_whole(first, text):
        return True
    heard = {word: typed for word, typed in _heard(text).items() if word not in _EVERYWHERE}
    holds = _tokens(f"{first.key} {first.words} {first.seen} {' '.join(first.causes)}")
    weights = {word: 1.0 if typed else _GUESSED for word, typed in heard.items()}
    fit = sum(weights[word] for word in heard if word in holds) / max(len(heard), 1)
    asked = set(_heard(text))
    second = _score(rows[1], asked) if len(rows) > 1 else 0.0
    lead = _score(first, asked) / second if second else math.inf
    return (fit >= 1.0 and lead > _NO_TIE) or (fit >= _HALF and lead >= _CLEAR)


def causes_told(row: SymptomRow, text: str) -> tuple[int, ...]:
    """The places of the causes of a row, those first that the words themselves speak of.

    Words that stand with the whole row, or in every cause of it, tell none of them from another.

    Parameters
    ----------
    row : SymptomRow
    text : str
        What is seen, in any words.

    Returns
    -------
    tuple of int
        Every place once, from 0; the order of the table where the words speak of none.

    Examples
    --------
    >>> causes_told(symptom_row("wet air face"), "water drips out at the edge")
    (1, 0, 2)
    >>> causes_told(symptom_row("wet air face"), "wet air face")
    (0, 1, 2)
    """
    causes = [_tokens(cause) for cause in row.causes]
    telling = _spelt(text) - _tokens(f"{row.key} {row.words} {row.seen}")
    telling -= {word for word in telling if all(word in cause for cause in causes)}
    return tuple(sorted(range(len(causes)), key=lambda place: -len(telling & causes[place])))


@lru_cache(maxsize=1)
def _rows_with() -> Counter[str]:
    """In how many rows each word stands: "voltage" tells little, "vinegar" a lot."""
    texts = (f"{row.key} {row.words} {row.seen}" for row in symptom_rows())
    return Counter(word for text in texts for word in _tokens(text))


def find_symptoms(text: str, most: int = 5) -> tuple[SymptomRow, ...]:
    """The rows that fit what somebody says they see, best first.

    Parameters
    ----------
    text : str
        In any words; a key alone gives its own row.
    most : int
        At most so many.

    Returns
    -------
    tuple of SymptomRow
        Empty where nothing fits.

    Examples
    --------
    >>> find_symptoms("black water")[0].key
    'black liquid'
    >>> find_symptoms("zero volts")[0].key
    'zero volts'
    """
    wanted = " ".join(text.casefold().split())
    exact = tuple(row for row in symptom_rows() if wanted in row.names)
    if exact:
        return exact
    asked = _spelt(text)
    scored = [
        (_score(row, asked) + (_PHRASE if _said_whole(row, text) else 0.0), -i, row)
        for i, row in enumerate(symptom_rows())
    ]
    kept = sorted((s for s in scored if s[0] > 0.0), key=lambda s: s[:2], reverse=True)
    best = kept[0][0] if kept else 0.0
    return tuple(row for score, _, row in kept[:most] if score >= 0.5 * best)


def symptom_row(key: str) -> SymptomRow:
    """The row of a key.

    Parameters
    ----------
    key : str
        As listed.

    Returns
    -------
    SymptomRow

    Raises
    ------
    ReferenceDataError
        No such key; near ones are named.

    Examples
    --------
    >>> symptom_row("white gel").minutes
    5.0
    """
    found = {name: row for row in symptom_rows() for name in row.names}
    row = found.get(" ".join(key.casefold().split()))
    if row is None:
        near = difflib.get_close_matches(key.casefold(), found, n=4, cutoff=0.4)
        raise ReferenceDataError(
            f"no symptom {key!r} on file",
            where="symptom",
            allowed=", ".join(near) or "`aerode symptom` lists them",
            next_step="take one of those, or describe it in other words",
        )
    return row
