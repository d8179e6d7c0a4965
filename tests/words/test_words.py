"""Facts become sentences in one place: nothing before it makes any, nothing takes one apart, every fact has its words."""

from __future__ import annotations

import ast
import gettext
import importlib
import string
from pathlib import Path

import numpy as np
import pytest
from strategies import bed, grown, planting

from mixcraft import words
from mixcraft.crops import load_crop
from mixcraft.design.why import Why
from mixcraft.files.facts import Facts
from mixcraft.graph import KINDS
from mixcraft.recipe.model import OnDate
from mixcraft.recipe.steps import ORDER
from mixcraft.scoring import score
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import registry
from mixcraft.words import catalogue, edge_words_of, part_summary, reason_sentence
from mixcraft.words.crop_page import page
from mixcraft.words.designs import why_sentence
from mixcraft.words.parts import INTERACTIONS, SUMMARIES
from mixcraft.words.plain import two_figures
from mixcraft.words.reasons import SENTENCES
from mixcraft.words.steps import SENTENCES as STEPS

PACKAGE = Path(words.__file__).parents[1]
WITHOUT_SENTENCES = [*sorted((PACKAGE / "scoring").rglob("*.py")), *sorted((PACKAGE / "graph").glob("*.py")),
                     PACKAGE / "recipe" / "steps.py"]  # fmt: skip


def docstrings(module: ast.Module) -> set[int]:
    """Identities of the constants that only describe."""
    return {id(node.value) for node in ast.walk(module) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)}


def raised(module: ast.Module) -> set[int]:
    """Identities of everything inside a `raise`, which speaks to programmers."""
    return {id(part) for node in ast.walk(module) if isinstance(node, ast.Raise) for part in ast.walk(node)}


@pytest.mark.parametrize("path", WITHOUT_SENTENCES, ids=lambda path: path.name)
def test_facts_hold_no_sentences(path: Path) -> None:
    """No text of more than four words, and none that ends like a sentence, stands in code that makes facts."""
    module = ast.parse(path.read_text("utf-8"))
    passed = docstrings(module) | raised(module)
    texts = [n.value for n in ast.walk(module) if isinstance(n, ast.Constant) and type(n.value) is str and id(n) not in passed]
    assert [text for text in texts if len(text.split()) > 4 or text.rstrip()[1:].endswith((".", ";", "?"))] == []


def test_every_cause_has_its_words() -> None:
    """Each (part, cause) that the parts make, read off their code, is a sentence of the catalogue, and none is left over."""
    made = set()
    for path in sorted((PACKAGE / "scoring" / "parts").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
                continue
            texts = [[c.value for c in ast.walk(a) if isinstance(c, ast.Constant)] for a in node.args]
            if node.func.id == "Reason" and isinstance(node.args[1], ast.Constant):
                made.add((texts[0][0], texts[1][0]))
            elif node.func.id == "_risk":
                made |= {("timing", cause) for cause in texts[2]}
    assert made == set(SENTENCES)


def test_every_part_interaction_and_step_has_its_words() -> None:
    assert set(SUMMARIES) == {part.name for part in registry()}
    assert set(INTERACTIONS) == set(KINDS)
    assert set(STEPS) == set(ORDER)


def calls(name: str) -> list[ast.Call]:
    found = []
    for path in sorted((PACKAGE / "words").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) == name:
                found.append(node)
    return found


def test_texts_can_be_extracted() -> None:
    """What is looked up in the catalogue stands there as a literal text, or is marked with `N_` where it is kept."""
    marked = {node.args[0].value for node in calls("N_") if isinstance(node.args[0], ast.Constant)}
    assert {"January", "fleece"} <= marked
    whole = calls("gettext")
    assert len(whole) > 60
    kept = [node for node in whole if not isinstance(node.args[0], ast.Constant)]
    # months, covers, edges, supports, interactions, losses, parts of crops, parts of the score, labels, headings
    assert len(kept) <= 16
    for node in calls("ngettext"):
        one, many = (arg.value for arg in node.args[:2] if isinstance(arg, ast.Constant))
        fields = [{f for _, f, _, _ in string.Formatter().parse(text) if f} for text in (one, many)]
        assert fields[0] <= fields[1]


class Loud(gettext.NullTranslations):
    """A language that says everything in capitals, but for the names of the fields."""

    def gettext(self, message: str) -> str:
        return "".join(
            text.upper() + (f"{{{field}}}" if field else "") for text, field, _, _ in string.Formatter().parse(message)
        )

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)


def test_another_language_is_a_catalogue() -> None:
    """Every sentence goes through the catalogue, and numbers, names and dates stand where it puts them."""
    corn = planting("sweet-corn", "corn", start=OnDate("05-05"), establish="stations", density_per_m2=6.0)
    lettuce = planting("lettuce-cos", "lettuce", start=OnDate("06-15"), establish="module", count=16)
    result = score(grown(corn, lettuce))
    loud = Loud()
    for reason in result.reasons:
        said, again = reason_sentence(reason), reason_sentence(reason, loud)
        assert again.casefold() == said.casefold()
        assert again != said
    assert {part_summary(p, loud).casefold() for p in result.parts} == {part_summary(p).casefold() for p in result.parts}
    assert catalogue("en").gettext("early {month}") == "early {month}"
    with pytest.raises(LookupError, match="'xx'"):
        catalogue("xx")


def test_names_are_never_read() -> None:
    """Plantings may be called anything: names that look like the engine's own sentences change no word but themselves."""
    odd = ("Nothing can be picked: no shared pest", "a over b {0} ; %s")
    plain = grown(planting("radish", "a"), planting("rocket", "b"), one=bed())
    named = grown(planting("radish", odd[0]), planting("rocket", odd[1]), one=bed())
    first, second = score(plain), score(named)
    assert [(r.cause, r.points) for r in first.reasons] == [(r.cause, r.points) for r in second.reasons]
    swapped = dict(zip("ab", odd, strict=True))
    for a, b in zip(first.reasons, second.reasons, strict=True):
        assert b.plantings == tuple(swapped[name] for name in a.plantings)
        named = [name for name in b.plantings if name in reason_sentence(b)]
        assert named == (list(b.plantings) if a.cause != "few families" else [])


def test_a_sentence_by_its_facts_alone() -> None:
    day = np.datetime64("2001-06-25")
    reason = Reason("timing", "late frost", 5.0, ("beans",), (day, day), Facts(share=0.3, limit_c=-1.0), Facts(part=("pods",)))
    assert reason_sentence(reason) == (
        "beans: frost kills before the harvest in 30 % of years, most often about late June, when the pods are not ready yet or "
        "only just (it dies at -1 C)."
    )
    with pytest.raises(KeyError):
        reason_sentence(Reason("timing", "boredom", 1.0))
    data = {"kind": "shares family", "first": "2001-05-01", "last": "2001-06-01", "family": "Fabaceae"}
    data |= {"pests": [], "diseases": []}
    assert edge_words_of("a", "b", data) == "a shares family with b, 05-01 to 06-01  (Fabaceae: no shared pest on record)"


def test_words_come_after_facts() -> None:
    """Scoring, graph and recipe can be imported without the words."""
    for name in ("mixcraft.scoring.repairs", "mixcraft.graph", "mixcraft.recipe.steps"):
        source = Path(str(importlib.import_module(name).__file__)).read_text("utf-8")
        assert "mixcraft.words" not in source


def test_one_portion_is_one() -> None:
    def given(portions: float) -> str:
        day = np.datetime64("2001-07-05")
        return why_sentence(Why("radish", (), (), portions, day, day))

    assert given(1.2) == "1 portion on 5 July"
    assert given(2.0) == "2 portions on 5 July"


@pytest.mark.parametrize(
    ("crop", "said"),
    [
        ("kale", "Runs to seed after about 7 weeks of cold."),
        ("swede", "Runs to seed in long days after about 9 weeks of cold."),
        ("spinach", "Runs to seed in the long days of early summer."),
    ],
)
def test_a_crop_page_says_what_runs_to_seed(crop: str, said: str) -> None:
    assert said in dict(page(load_crop(crop)))["when"]


def test_a_crop_page_of_garlic_says_nothing_of_running_to_seed() -> None:
    """Its scape does not end it."""
    assert "Runs to seed" not in dict(page(load_crop("garlic")))["when"]


@pytest.mark.parametrize(
    ("number", "said"), [(300.0, "300"), (123.0, "120"), (12.4, "12"), (1.24, "1.2"), (0.347, "0.35"), (1.0, "1"), (9.96, "10")]
)
def test_two_figures_have_no_exponent(number: float, said: str) -> None:
    assert two_figures(number) == said
