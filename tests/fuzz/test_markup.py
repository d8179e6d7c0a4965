"""What stands in SVG, GraphML and HTML is text, whatever a name holds; a card opens its own files only."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import grown, planting

from mixcraft.files.markup import escape, without_controls
from mixcraft.graph import graphml
from mixcraft.press.card import _bundled_only
from mixcraft.press.light_drawing import light_svg
from mixcraft.season.daylight import light_by_month

ODD = "\x00\x1b[2J <b>&amp;</b> \"'\u202e\ud800\ufffe 畑"


@given(st.text())
def test_any_text_is_xml_once_escaped(text: str) -> None:
    read = ElementTree.fromstring(f'<a b="{escape(text)}">{escape(text)}</a>')
    assert (read.text or "") == re.sub("\r\n?", "\n", without_controls(text))  # XML reads line ends as one line feed
    for c in "<>&\"'":
        assert escape(c) != c


def test_graphml_of_any_names_is_xml() -> None:
    graph = nx.MultiDiGraph()
    graph.add_node(ODD, layer=ODD, hosts=[ODD, "b"])
    graph.add_edge(ODD, ODD, kind=ODD, strength=0.5)
    assert ElementTree.fromstring(graphml(graph)).tag.endswith("graphml")


def test_svg_of_any_names_is_xml() -> None:
    season = grown(planting("radish"), years=1)
    plan = season.plan
    odd = replace(plan, recipe=replace(plan.recipe, name=ODD), bed=replace(plan.bed, name=ODD))
    season = replace(season, plan=odd)
    assert ElementTree.fromstring(light_svg(season, light_by_month(season))).tag.endswith("svg")


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/passwd", "http://example.org/a.png", "ftp://example.org/a", "{fonts}/../card.html.j2", "{fonts}/%2e%2e/x",
        "relative",
    ],
)  # fmt: skip
def test_a_card_opens_only_its_own_files(url: str) -> None:
    from weasyprint.urls import FatalURLFetchingError

    from mixcraft.files import resource

    with pytest.raises(FatalURLFetchingError):
        _bundled_only().fetch(url.format(fonts=resource("templates", "fonts").as_uri()))


def test_a_card_opens_its_fonts_and_its_own_data() -> None:
    from mixcraft.files import resource

    font = resource("templates", "fonts").as_uri() + "/FiraSansCondensed-Regular.ttf"
    assert len(_bundled_only().fetch(font).read()) > 10_000
    assert _bundled_only().fetch("data:text/plain,leek").read() == b"leek"
