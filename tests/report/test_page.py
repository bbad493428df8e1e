"""The page: well-formed, named for those who cannot see it, escaped, legible, and on its own."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from cablesim import __version__
from cablesim.instruments.readings import Reading
from cablesim.report.answer import answered
from cablesim.report.page import page_html, page_source
from cablesim.report.page.convert import html_of
from cablesim.report.page.mending import cautions_section
from cablesim.report.page.style import DARK, LIGHT
from cablesim.report.page.warmth import camera_section
from cablesim.report.words import decimals_for, interval_words, verdict_words
from cablesim.scenario.reading import load_scenario, parse_scenario
from cablesim.scenario.shipped import shipped_directory

SHIPPED = shipped_directory()
# What each page must say, and sections that it must not have.
SAYS = {
    "bathroom-floor": (
        (
            "The place is found",
            "short between core1 and braid (95 %)",
            "14.11 to 14.43 m",
            "3 tiles: column 8, rows 3 to 5",
            "towel rail screwed to the floor",
            "Open the floor as planned above",
            "120.8 ohm",  # as read
            "Combined standard uncertainty",
            "A tester of 2500 V and 5 mA leaves 0.96 mW",
            "at least 1 Mohm at 500 V",
            "Outer adhesive-lined sleeve",
            "prove dead",
            "licensed",
        ),
        set(),
    ),
    "conservatory-cut-through": (
        (
            "The place is found",
            "nowhere: a camera sees nothing of the cable",
            "Nothing conducts between the conductors",
        ),
        {"floor"},
    ),
    "hall-cores-touching": (
        (
            "The place is not found yet",
            "Do not open the floor yet",
            "from the cold joint up to",
            "What follows is for the best guess",
        ),
        {"floor"},
    ),
    "nursery-before-covering": (
        ("Nothing is found broken", "Keep these readings"),
        {"floor", "camera", "repair", "budget"},
    ),
    "laundry-splice-taken-damp": (
        (
            "The readings taken after repair pass",
            "The readings taken after covering do not pass",
            "something conducts between them",
            "as after the repair: nothing wrong with the joints themselves",
        ),
        {"floor"},
    ),
    "utility-room-damp-insulation": (("Schedule", "by a camera of 0.1 K, after"), {"floor"}),
    "conflict": (
        ("The readings contradict each other", "Do not open the floor: no damage"),
        {"floor", "camera", "repair", "budget"},
    ),
}
# Figures of each page; all have that of the cable.
DRAWN = {
    "bathroom-floor": {"plan", "warm"},
    "conservatory-cut-through": {"warm"},
    "hall-cores-touching": {"warm"},
    "laundry-splice-taken-damp": {"warm"},
    "utility-room-damp-insulation": {"warm", "bursts"},
}
NASTY = '</title><script>alert("1")</script> & <img src=http://x.example/y onerror=alert(2)>'
CONFLICT = f"""
format = 1
title = '{NASTY}'
[cable]
construction = "twin"
heated_length_m = 30.0
loop_resistance_ohm = 88.2
[[reading]]
meter = "ohmmeter"
across = ["core1", "core2"]
ohm = 90.6
note = '{NASTY}'
[[reading]]
meter = "ohmmeter"
across = ["core1", "braid"]
ohm = 20.4
[[reading]]
meter = "ohmmeter"
across = ["core2", "braid"]
ohm = 20.5
"""
VOID = {"meta", "br", "hr", "img", "link", "input"}


class Read(HTMLParser):
    """What a page holds, and whether every element that is opened is closed."""

    def __init__(self, page):
        super().__init__()
        self.open, self.elements, self.texts, self.bad = [], [], [], []
        self.feed(page)
        self.close()
        self.bad += self.open

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.bad.append(tag)

    def handle_data(self, data):
        self.texts.append((self.open[-1] if self.open else "", data))

    def all(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]

    @property
    def words(self):
        shown = "".join(text for tag, text in self.texts if tag not in ("style", "title", "desc"))
        return " ".join(shown.split())


def source_of(name):
    if name == "conflict":
        scenario, data = parse_scenario(CONFLICT), CONFLICT.encode()
    else:
        path = SHIPPED / f"{name}.toml"
        scenario, data = load_scenario(path), path.read_bytes()
    return page_source(scenario, answered(scenario), f"{name}.toml", data)


def check_form(page):
    """Every element is closed, ids are unique, and links within the page lead somewhere."""
    assert not page.bad
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    for _, attributes in page.elements:
        for key in ("href", "aria-labelledby"):
            for wanted in attributes.get(key, "").split():
                assert wanted.removeprefix("#") in ids, (key, wanted)
        for used in re.findall(r"url\(#([^)]*)\)", " ".join(map(str, attributes.values()))):
            assert used in ids


def check_alone(page, text):
    """Nothing is loaded, nothing runs, and no address is named but in text from the file."""
    assert not {"script", "img", "link", "iframe", "object", "form"} & {t for t, _ in page.elements}
    for tag, attributes in page.elements:
        assert not any(key.startswith("on") for key in attributes), tag
        assert "src" not in attributes
        assert attributes.get("href", "#").startswith("#")
    bare = text.replace("http://x.example/y", "")
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)", bare)
    (policy,) = [m for m in page.all("meta") if m.get("http-equiv")]
    assert policy["content"].startswith("default-src 'none'")


def check_aloud(page):
    """Language, headings in order, names of figures and tables."""
    assert page.all("html")[0]["lang"] == "en"
    assert page.all("title")
    assert len(page.all("main")) == len(page.all("h1")) == 1
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    for figure in page.all("svg"):
        assert figure["role"] == "img"
        assert len(figure["aria-labelledby"].split()) == 2
    named = [text for tag, text in page.texts if tag == "desc"]
    assert len(named) == len(page.all("svg")) >= 1
    assert all(len(text) > 30 for text in named)
    assert all("scope" in head for head in page.all("th"))
    for table in page.all("table"):
        assert table["role"] == "table"  # kept where a phone lays its rows out as cards


def test_a_page_drawn_anew_is_letter_by_letter_the_same():
    source = source_of("bathroom-floor")
    assert page_html(source) == page_html(source)


def test_damage_that_would_burn_is_told_where_it_is_shown_and_among_the_cautions():
    source = source_of("utility-room-damp-insulation")
    bursts = source.camera.bursts
    seen = replace(bursts.seen, spot_kelvin=2.0 * bursts.seen.spot_kelvin)
    camera = replace(source.camera, bursts=replace(bursts, seen=seen))
    for one, burns in ((source, False), (replace(source, camera=camera), True)):
        for made in (camera_section(one), cautions_section(one)):
            assert ("what lies on the floor can burn" in made) is burns


@pytest.mark.parametrize("name", SAYS)
def test_a_page(name):
    source = source_of(name)
    text = page_html(source)
    page = Read(text)
    check_form(page)
    check_alone(page, text)
    check_aloud(page)
    words = page.words.replace("\u00a0", " ")
    said, without = SAYS[name]
    for wanted in (*said, f"cablesim {__version__}", f"Its SHA-256{source.sha256}"):
        assert wanted in words, wanted
    estimate = source.answer.estimate
    if estimate.locatable:
        (within,) = {fault.intervals_m: fault for fault in estimate.faults}.values()
        assert verdict_words(estimate) in words
        assert interval_words(within.intervals_m, decimals_for(within.open_m)) in words
    assert not {each["id"] for each in page.all("section")} & without
    drawn = {each["id"] for each in page.all("title") if "id" in each}
    assert drawn == {f"{key}-name" for key in {"place"} | DRAWN.get(name, set())}
    axes = [text for tag, text in page.texts if tag == "text" and "[" in text]
    # Every panel has a quantity with its unit on both axes, but the strip of the cable.
    assert "distance from the cold joint [m]" in axes
    if "plan" in DRAWN.get(name, ()):
        assert {"x [m]", "y [m]"} <= set(axes)
    if name == "conflict":
        assert [text for tag, text in page.texts if tag == "h1"] == [NASTY]
        assert words.count(NASTY) == 2  # the heading and the note
    told = [text for tag, text in page.texts if tag == "dt"]
    assert ("Truth" in told) == (bool(source.scenario.faults) and name != "conflict")


def luminance(colour):
    """WCAG 2.2, relative luminance (from memory)."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_letters_stand_out_from_their_ground(colours):
    for ink in ("ink", "grey", "blue", "mark"):
        for paper in ("paper", "sheet"):
            light, dark = sorted((luminance(colours[ink]), luminance(colours[paper])), reverse=True)
            least = 7.0 if paper == "paper" else 4.5  # a sheet lies under the figures' names only
            assert (light + 0.05) / (dark + 0.05) >= least, (ink, paper)


def test_what_no_table_is_made_of_is_not_shown_as_one():
    with pytest.raises(TypeError, match="no HTML for a Reading"):
        html_of(Reading.__new__(Reading))


def test_a_slip_that_is_likelier_is_answered_first():
    kohm = CONFLICT.replace("90.6", "0.09").replace("20.4", "0.0744").replace("20.5", "0.1275")
    scenario = parse_scenario(kohm)
    answer = answered(scenario)
    assert answer.estimate.doubted
    words = Read(page_html(page_source(scenario, answer, "hall.toml", kohm.encode()))).words
    assert "The place is not found yet" in words
    assert "Do not open the floor yet: first answer the questions below." in words
    assert "Take the reading named below" not in words
