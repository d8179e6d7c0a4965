"""Near misses: which known word did the user mean?"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

CUTOFF = 0.68  # difflib ratio from which a word counts as near; chosen on the cases in tests/files
LONGEST = 60  # characters of a word that is compared; longer ones are no slip of the pen
NEAR_NAME, OTHER_LETTER = 0.79, 0.85  # ratios from which a name is near, with the same first letter and with another
ONE_WORD, BY_A_WORD = 0.88, 0.85  # ratio from which one word of several is near a name, and how near the whole is by that
SLACK = 0.03  # a choice is left out if it is more than twice as unlike as the best one, and this much


def did_you_mean(word: str, choices: Iterable[str], n: int = 3, *, names: bool = False) -> list[str]:
    """Return up to `n` choices near to `word`, the nearest first; an empty list if none is near.

    Upper and lower case, accents, plurals, and the signs between words do not count as a
    difference. Swapped, missing and doubled letters are near. A choice that holds the word as a
    whole word (``bean`` in ``runner bean``) is near too. `names` of crops and towns have to be nearer than
    other words, the more so with another first letter: "sungold" is no slip for "mangold", nor Atlanta for Astana.
    """
    wanted = _plain(word)
    if not wanted or len(wanted) > LONGEST:
        return []
    scored = []
    for order, choice in enumerate(dict.fromkeys(choices)):
        plain = _plain(choice)
        score = _likeness(wanted, plain)
        if names and " " in wanted:
            score = max([score, *(BY_A_WORD for part in wanted.split() if len(part) > 3 and _likeness(part, plain) >= ONE_WORD)])
        if names and score < (NEAR_NAME if plain[:1] == wanted[:1] else OTHER_LETTER):
            continue
        if score >= CUTOFF:
            scored.append((-score, order, choice))
    scored.sort()
    limit = 2 * (1 + scored[0][0]) + SLACK if scored else 0.0
    return [choice for score, _, choice in scored[:n] if 1 + score <= limit]


def meant(word: str, choices: Iterable[str]) -> str:
    """Return ``did you mean `x`?`` (up to three words), or an empty text if nothing is near."""
    near = did_you_mean(word, choices)
    return f"did you mean {or_list([f'`{item}`' for item in near])}?" if near else ""


def or_list(words: list[str]) -> str:
    """Join words for a sentence: ``a, b or c``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}" if words else ""


def _plain(word: str) -> str:
    """Lower case, no accents, single spaces, and no plural ending on any word."""
    folded = unicodedata.normalize("NFKD", word.casefold())
    letters = "".join(c if c.isalnum() else " " for c in folded if not unicodedata.combining(c))
    return " ".join(_singular(part) for part in letters.split())


def _singular(word: str) -> str:
    """Take an English plural ending off: tomatoes, beans, berries, leaves stay comparable."""
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith(("oes", "shes", "ches", "xes")):
        return word[:-2]
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


def _likeness(a: str, b: str) -> float:
    """Likeness of two plain words from 0 to 1."""
    if a == b:
        return 1.0
    if not b:
        return 0.0
    if len(a) > 2 and (f" {a} " in f" {b} " or f" {b} " in f" {a} "):
        return 0.9
    import difflib

    matcher = difflib.SequenceMatcher(None, a, b, autojunk=False)
    possible = min(matcher.real_quick_ratio(), matcher.quick_ratio())
    score = matcher.ratio() if possible >= CUTOFF else 0.0
    if _is_one_swap(a, b):
        return max(score, 0.88)
    if len(a) > 3 and b.startswith(a):
        return max(score, 0.75)
    return score


def _is_one_swap(a: str, b: str) -> bool:
    """True if swapping two neighbouring letters of `a` gives `b`."""
    if len(a) != len(b):
        return False
    differing = [i for i in range(len(a)) if a[i] != b[i]]
    if len(differing) != 2 or differing[1] != differing[0] + 1:
        return False
    i, j = differing
    return a[i] == b[j] and a[j] == b[i]
