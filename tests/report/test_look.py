"""The look of pictures: contrast, and an `<svg>` that a page can take in."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from scheduler.report import look

XLINK = "http://www.w3.org/1999/xlink"


def luminance(color):
    """Relative luminance (WCAG 2.2, definition; the threshold is that of sRGB)."""
    rgb = np.array(to_rgb(color))
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def contrast(one, other):
    """Contrast ratio (WCAG 2.2, definition)."""
    low, high = sorted([luminance(one), luminance(other)])
    return (high + 0.05) / (low + 0.05)


# WCAG 2.2, 1.4.3: 4.5:1 for text; 1.4.11: 3:1 for what a picture is read by.
def test_letters_and_marks_stand_out_from_the_paper():
    assert contrast("black", "white") == pytest.approx(21)
    assert min(contrast(color, "white") for color in (look.INK, look.GREY)) >= 4.5
    assert min(contrast(color, "white") for color in (look.WATER, look.OVER)) >= 3


def inlined(label="label", text="words"):
    with look.look():
        figure = look.new_figure((3, 2))
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.plot([0, 1, 2], [1, 9, 3], marker="o")
        look.put_text(axes, 0.5, 0.5, text)
        return look.inline_svg(figure, label)


def test_inline_svg_is_one_element_that_scales():
    root = ElementTree.fromstring(inlined())

    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    # 3 by 2 inches of 72 points.
    assert root.get("viewBox") == "0 0 216 144"
    assert not {"width", "height"} & set(root.attrib)
    assert root.get("role") == "img"


def test_inline_svg_needs_nothing_from_elsewhere():
    svg = inlined(text="https://example.org -- <script>")

    assert svg.count("://") == 1
    assert 'xmlns="http://www.w3.org/2000/svg"' in svg
    names = {part.tag.rpartition("}")[2] for part in ElementTree.fromstring(svg).iter()}
    assert names <= {"svg", "g", "path", "use", "defs", "clipPath", "rect"}


def test_inline_svg_points_to_its_own_parts_only():
    root = ElementTree.fromstring(inlined())
    ids = [part.get("id") for part in root.iter() if "id" in part.attrib]
    named = [
        name
        for part in root.iter()
        for key, value in part.attrib.items()
        for name in re.findall(r"url\(#([^)]*)\)", value)
        + ([value.removeprefix("#")] if key.endswith("href") else [])
    ]

    assert len(ids) == len(set(ids))
    assert set(named) == set(ids)
    assert any(part.get("clip-path") for part in root.iter())


def test_two_pictures_of_a_page_share_no_id():
    def ids(svg):
        return set(re.findall(r'id="([^"]+)"', svg))

    assert ids(inlined(label="one"))
    assert not ids(inlined(label="one")) & ids(inlined(label="other"))
    assert not ids(inlined(text="one")) & ids(inlined(text="other"))


@pytest.mark.parametrize(
    ("label", "told"),
    [
        ('"><script>alert(1)</script>', '"><script>alert(1)</script>'),
        ("a & b < c ' d", "a & b < c ' d"),
        ("two\nlines\x00\x0b\ud800", "two lines"),
        ("حديقة 草坪", "حديقة 草坪"),
    ],
)
def test_label_is_told_as_it_stands(label, told):
    root = ElementTree.fromstring(inlined(label=label))

    assert root.get("aria-label") == told
